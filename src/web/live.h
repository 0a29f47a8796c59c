// Live pictures over HTTP: the parts of a motion-JPEG stream, made once a frame and shared by all viewers.
#pragma once

#include <memory>
#include <mutex>
#include <string>

#include "camera/frame.h"

namespace rookery::web {

// Ours alone: long enough that no JPEG holds it by chance.
inline constexpr std::string_view kPartBoundary = "saltmarsh-7f3a9c51d2e84b06";

// One part of the stream: its head, and the frame it belongs to. immutable.
struct Part {
  std::string head;
  camera::FramePtr frame;

  Part(std::string head_, camera::FramePtr frame_) : head(std::move(head_)), frame(std::move(frame_)) {}
};

// Content-Type, Content-Length and X-Arrived, up to and with the empty line. The boundary before it is the
// last thing of the part before, since a browser shows a picture only when it has seen the next boundary.
std::string part_head(const camera::Frame& frame);

// Makes the part of the newest frame once for all viewers who show it. any-thread.
class PartMaker {
 public:
  std::shared_ptr<const Part> part_for(const camera::FramePtr& frame);

 private:
  std::mutex mutex_;
  std::shared_ptr<const Part> newest_;
};

}  // namespace rookery::web
