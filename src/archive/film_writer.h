// Inner: pictures of one size into a film that browsers and phones play: H.264 in MP4, VP9 in WebM, animated
// WebP. Constant frame rate.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "archive/film_format.h"
#include "archive/libav.h"
#include "base/time.h"
#include "camera/frame.h"

namespace rookery::archive {

struct FilmShape {
  FilmFormat format = FilmFormat::mp4;
  camera::PixelSize size;  // even numbers
  int frames_per_s = 25;   // 1–60
  std::string title;
  std::optional<base::WallTime> date;  // none where nobody knows
  std::string where;                   // what errors say was being done: "anvil: export"

  FilmShape(FilmFormat format_, camera::PixelSize size_, int frames_per_s_, std::string title_,
            std::optional<base::WallTime> date_, std::string where_)
      : format(format_),
        size(size_),
        frames_per_s(frames_per_s_),
        title(std::move(title_)),
        date(date_),
        where(std::move(where_)) {}
};

// Whether there is an encoder of this name, as FFmpeg calls it: "libx264". any-thread.
using HasEncoder = std::function<bool(const char* name)>;
bool ffmpeg_has_encoder(const char* name);

// Whether such a film can be made with the encoders that there are. `where`: what errors say was being done.
// Errors: unsupported (naming the codec that is not there, and the kinds of film that can be made instead).
// any-thread.
base::Result<void> check_encoder(FilmFormat format, const std::string& where,
                                 const HasEncoder& has_encoder = ffmpeg_has_encoder);

// One user at a time.
class FilmWriter {
 public:
  explicit FilmWriter(FilmShape shape);
  ~FilmWriter();
  FilmWriter(const FilmWriter&) = delete;
  FilmWriter& operator=(const FilmWriter&) = delete;

  // Makes `file` anew. Errors: those of check_encoder() and of the disk.
  base::Result<void> begin(const std::filesystem::path& file);
  // The next picture: yuv420p, limited range, of the shape's size, borrowed; its pts is set.
  base::Result<void> add(AVFrame& picture);
  // The file is whole when this returns; at least one picture was added.
  base::Result<void> finish();

  std::int64_t pictures() const { return next_; }

 private:
  base::Result<void> begin_encoder();
  base::Result<void> begin_muxer(const std::filesystem::path& file);
  base::Result<void> encode(AVFrame* picture);
  base::Error failed(std::string_view doing, int returned) const;

  const FilmShape shape_;
  LibavPtr<AVCodecContext> encoder_;
  LibavPtr<AVFormatContext> muxer_;
  LibavPtr<AVPacket> packet_;
  AVStream* stream_ = nullptr;
  std::int64_t next_ = 0;
};

}  // namespace rookery::archive
