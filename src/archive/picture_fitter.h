// Inner: recorded JPEGs as pictures of one size for an encoder.
#pragma once

#include "archive/libav.h"
#include "archive/playback.h"
#include "camera/frame.h"

namespace rookery::archive {

// One user at a time.
class PictureFitter {
 public:
  PictureFitter();

  // Pictures become `target` in size (even numbers), yuv420p, limited range. Those of size `usual` are scaled
  // to fill it (at most one pixel is lost to evenness); others keep their shape, with black beside them.
  base::Result<void> begin(camera::PixelSize usual, camera::PixelSize target);

  struct Fitted {
    AVFrame* frame = nullptr;  // valid until the next call; pts may be set
    bool resized = false;
  };
  // Errors: damaged when the JPEG cannot be decoded.
  base::Result<Fitted> fit(std::span<const std::byte> jpeg);
  // The same, and the error says which frame of an export it was.
  base::Result<Fitted> fit(const RecordedFrame& recorded);

 private:
  base::Result<void> decode(std::span<const std::byte> jpeg);
  void paint_black();

  LibavPtr<AVCodecContext> decoder_;
  LibavPtr<AVPacket> packet_;
  LibavPtr<AVFrame> decoded_;
  LibavPtr<AVFrame> target_;
  LibavPtr<SwsContext> scaler_;
  camera::PixelSize usual_;
  camera::PixelSize scaled_from_;
  int scaled_format_ = AV_PIX_FMT_NONE;
  camera::PixelSize inner_;  // of the picture inside the target
};

}  // namespace rookery::archive
