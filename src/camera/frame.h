// One picture on its way through the station: the board's own bytes, when they came, and how large they are.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "base/time.h"

namespace rookery::camera {

// Width and height of a picture in pixels, as its own frame header says.
struct PixelSize {
  int width_px = 0;
  int height_px = 0;
  bool operator==(const PixelSize&) const = default;
};

// What is known of a picture besides itself.
struct FrameOrigin {
  std::optional<base::Microseconds> stamp;  // the board's own clock when it took it: since its last boot
  std::uint64_t connection = 0;             // by which it came, counted from 1 since the station started
};

// immutable once published. Nobody copies or changes the bytes; they are shared by reference count.
struct Frame {
  std::vector<std::byte> bytes;  // one whole JPEG, exactly as the board sent it
  base::WallTime arrived;        // when its last byte was here, wall clock
  base::MonoTime arrived_mono;   // the same moment on the monotonic clock: intervals are measured with this
  std::uint64_t number = 0;  // counts this camera's frames since the station started, from 1; a gap is a loss
  PixelSize size;
  FrameOrigin origin;

  Frame(std::vector<std::byte> bytes_, base::WallTime arrived_, base::MonoTime arrived_mono_,
        std::uint64_t number_, PixelSize size_, FrameOrigin origin_ = {})
      : bytes(std::move(bytes_)),
        arrived(arrived_),
        arrived_mono(arrived_mono_),
        number(number_),
        size(size_),
        origin(origin_) {}

  std::span<const std::byte> view() const& { return bytes; }
  std::span<const std::byte> view() const&& = delete;
};

using FramePtr = std::shared_ptr<const Frame>;

}  // namespace rookery::camera
