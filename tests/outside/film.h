// A real film: a street seen by a fixed camera, 768×576, 10 frames a second. From Debian's package
// opencv-doc.
#pragma once

#include <filesystem>

#include "tests/support/needs.h"

namespace rookery::outside {

inline constexpr const char* kFilm = "/usr/share/doc/opencv-doc/examples/data/vtest.avi";
inline constexpr int kFilmWidth_px = 768;
inline constexpr int kFilmHeight_px = 576;

// FFmpeg's program and the film.
#define ROOKERY_NEEDS_FILM()                                        \
  ROOKERY_NEEDS_PROGRAM("ffmpeg", "ffmpeg");                        \
  ROOKERY_NEEDS(std::filesystem::exists(::rookery::outside::kFilm), \
                "the film is not there (Debian package opencv-doc)")

}  // namespace rookery::outside
