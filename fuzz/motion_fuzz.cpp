// Whatever bytes come: a detector restores them or says why not, and then goes on as if nothing had happened;
// a mask that is accepted is written as it can be read. After that the bytes are pictures.
#include <span>
#include <string_view>

#include "fuzz/promise.h"
#include "vision/motion_detector.h"
#include "vision/motion_events.h"

namespace {

using namespace rookery;
using fuzz::require;

constexpr int kWidth = 12;
constexpr int kHeight = 9;

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto mask = vision::Mask::parse(text);
  if (mask) require(vision::Mask::parse(mask->text()).value() == *mask, "a mask is read as it was written");

  vision::MotionDetector detector({}, mask ? *mask : vision::Mask());
  if (detector.restore(std::as_bytes(std::span(data, size)))) {
    const auto saved = detector.save();
    require(vision::MotionDetector().restore(saved).has_value(), "what was saved is restored");
  }
  vision::MotionEvents events;
  jpeg::LumaGrid grid;
  grid.width = kWidth;
  grid.height = kHeight;
  base::Microseconds at{0};
  for (std::size_t i = 0; i + kWidth * kHeight <= size; i += 31) {
    grid.cells.assign(data + i, data + i + kWidth * kHeight);
    at += std::chrono::milliseconds(data[i]);
    const vision::MotionFrame& frame = detector.add(grid, at);
    require(frame.now_cells <= frame.moving_cells, "what moves now is part of what moves");
    require(frame.moving_cells <= kWidth * kHeight, "no more moves than there is");
    for (const auto& region : frame.regions) {
      require(region.box.x >= 0 && region.box.x + region.box.width <= kWidth && region.box.y >= 0 &&
                  region.box.y + region.box.height <= kHeight,
              "regions lie in the picture");
      require(region.cells <= static_cast<unsigned>(region.box.width * region.box.height),
              "cells fit their box");
    }
    if (const auto event = events.add(frame, kWidth, kHeight)) {
      require(event->start <= event->end, "an event ends after it began");
      require(event->peak >= 0 && event->peak <= 1, "the peak is a share");
    }
  }
  return 0;
}
