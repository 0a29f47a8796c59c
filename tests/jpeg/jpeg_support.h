// JPEGs to test with, encoded by libjpeg-turbo from a drawn picture, and ways to damage them.
#pragma once

#include <cstdlib>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include <turbojpeg.h>

namespace rookery::jpeg {

using Jpeg = std::vector<std::byte>;

struct Wanted {
  int width_px = 64;
  int height_px = 48;
  int sampling = TJSAMP_420;
  int quality = 80;
  int flags = 0;
  int restart_rows = 0;  // restart marker every so many rows of MCUs
};

// The picture's luma at a place: a ramp from left to right with a disc in the middle, and a little noise so
// that the data has all byte values. 0–255.
inline int drawn(const Wanted& w, int x, int y) {
  const int dx = 2 * x - w.width_px;
  const int dy = 2 * y - w.height_px;
  const bool disc = dx * dx + dy * dy < w.height_px * w.height_px / 4;
  const int noise = (x * 7919 + y * 104729 + x * y * 31) % 13;
  return (disc ? 200 : 30 + 120 * x / w.width_px) + noise;
}

inline Jpeg make_jpeg(const Wanted& w) {
  std::vector<unsigned char> rgb;
  rgb.reserve(static_cast<std::size_t>(w.width_px) * static_cast<std::size_t>(w.height_px) * 3);
  for (int y = 0; y < w.height_px; ++y) {
    for (int x = 0; x < w.width_px; ++x) {
      const int luma = drawn(w, x, y);
      for (const int tint : {0, -10, 20}) {
        rgb.push_back(static_cast<unsigned char>(std::min(255, std::max(0, luma + tint))));
      }
    }
  }
  // TurboJPEG 2.1 takes the restart interval from the environment only.
  if (w.restart_rows > 0) ::setenv("TJ_RESTART", std::to_string(w.restart_rows).c_str(), 1);
  const tjhandle encoder = tjInitCompress();
  unsigned char* out = nullptr;
  unsigned long size = 0;
  const int failed = tjCompress2(encoder, rgb.data(), w.width_px, 0, w.height_px, TJPF_RGB, &out, &size,
                                 w.sampling, w.quality, w.flags);
  ::unsetenv("TJ_RESTART");
  const auto* begin = reinterpret_cast<const std::byte*>(out);
  Jpeg jpeg(begin, begin + (failed == 0 ? size : 0));
  tjFree(out);
  tjDestroy(encoder);
  if (failed != 0) throw std::runtime_error("the test's picture could not be encoded");
  return jpeg;
}

inline Jpeg bytes_from(std::string_view text) {
  const auto* begin = reinterpret_cast<const std::byte*>(text.data());
  return {begin, begin + text.size()};
}

inline Jpeg joined(std::initializer_list<std::span<const std::byte>> pieces) {
  Jpeg out;
  for (const auto piece : pieces) out.insert(out.end(), piece.begin(), piece.end());
  return out;
}

// Where a marker of that code first stands; searches bytes, so use it for markers that a header holds.
inline std::size_t place_of(const Jpeg& jpeg, int code) {
  for (std::size_t i = 0; i + 1 < jpeg.size(); ++i) {
    if (jpeg[i] == std::byte{0xFF} && jpeg[i + 1] == static_cast<std::byte>(code)) return i;
  }
  throw std::runtime_error("the test's picture lacks a marker");
}

// Puts a segment right behind SOI.
inline Jpeg with_segment(const Jpeg& jpeg, int code, std::span<const std::byte> payload) {
  const std::size_t length = payload.size() + 2;
  const std::byte head[] = {std::byte{0xFF}, static_cast<std::byte>(code),
                            static_cast<std::byte>(length >> 8), static_cast<std::byte>(length & 0xFF)};
  const auto all = std::span(jpeg);
  return joined({all.first(2), head, payload, all.subspan(2)});
}

}  // namespace rookery::jpeg
