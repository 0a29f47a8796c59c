// The kinds of film that are made for people.
#pragma once

#include <string_view>

#include "base/result.h"

namespace rookery::archive {

enum class FilmFormat {
  mp4,   // H.264, yuv420p, faststart: plays everywhere
  webm,  // VP9
  webp,  // an animation in place of a picture: large, but shown wherever pictures are
};

// "mp4", "webm", "webp"; also the ending of the file's name.
std::string_view name_of(FilmFormat format);
// Errors: invalid_value, naming the three.
base::Result<FilmFormat> parse_film_format(std::string_view name);
// What is asked of whoever serves the file: "video/mp4", "video/webm", "image/webp".
std::string_view media_type(FilmFormat format);

}  // namespace rookery::archive
