// Pictures to JPEG and back, at 4:2:2 as boards make them.
#pragma once

#include <optional>

#include "sim/canvas.h"

namespace rookery::sim {

// Keeps the compressor between pictures. strand-bound.
class Encoder {
 public:
  Encoder();
  ~Encoder();
  Encoder(const Encoder&) = delete;
  Encoder& operator=(const Encoder&) = delete;
  // `quality` 1–100 on the IJG scale.
  Bytes encode(const Picture& picture, int quality);

 private:
  void* handle_;
  std::vector<std::uint8_t> buffer_;
};

// The luma of a JPEG, for tests and tools; none when it cannot be decoded.
struct Gray {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> luma;
};
// `halved`: decoded at half the size.
std::optional<Gray> decode_gray(std::span<const std::uint8_t> jpeg, bool halved = false);

}  // namespace rookery::sim
