// FilmReader: the pictures of a file that FFmpeg reads as motion JPEG: AVI, Matroska, MP4, MOV, a dumped
// multipart stream, JPEGs one behind the other.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>

#include "archive/picture_source.h"

namespace rookery::archive {

struct FilmSpan {
  base::Microseconds from{0};  // since the film's first picture
  std::optional<base::Microseconds> to;
  // For files that say no times (JPEGs one behind the other, multipart): 1 to 240 pictures a second.
  double frames_per_s = kUsualRate;

  static constexpr double kUsualRate = 25;  // what FFmpeg takes
};

// FFmpeg only takes the file apart; every picture is as it stands there. Opens nothing but that file,
// whatever it says.
class FilmReader final : public PictureSource {
 public:
  // `go_on` is asked while pictures before the span are passed over. Errors: not_found, no_permission, io;
  // unsupported (no film, or its pictures are no motion JPEG: names the codec and how to convert it).
  static base::Result<std::unique_ptr<FilmReader>> open(const std::filesystem::path& file,
                                                        const FilmSpan& span = {},
                                                        std::function<bool()> go_on = {});
  ~FilmReader() override;
  FilmReader(const FilmReader&) = delete;
  FilmReader& operator=(const FilmReader&) = delete;

  // A file that is cut off ends where it is cut off; remark() says so where FFmpeg does. Errors: also
  // cancelled.
  base::Result<std::optional<base::Microseconds>> step() override;
  base::Result<std::span<const std::byte>> read() & override;
  double passed() const override;
  std::string remark() const override;

 private:
  struct Impl;
  explicit FilmReader(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
