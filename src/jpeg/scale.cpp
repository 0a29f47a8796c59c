#include "jpeg/scale.h"

#include <algorithm>
#include <string>

#include "jpeg/codec.h"

namespace rookery::jpeg {
namespace {

constexpr std::string_view kWhere = "scaling a picture";

// The smallest M in 1–7 with ⌈width·M/8⌉ ≥ want, or 8.
int eighths_for(int width_px, int want_width_px) {
  for (int m = 1; m < 8; ++m) {
    if (TJSCALED(width_px, (tjscalingfactor{m, 8})) >= want_width_px) return m;
  }
  return 8;
}

// The planes of one decoded picture, in memory that the thread keeps.
struct Planes {
  std::vector<unsigned char> memory;
  std::array<unsigned char*, 3> plane{};

  void lay_out(int width_px, int height_px, int sampling) {
    const int planes = sampling == TJSAMP_GRAY ? 1 : 3;
    std::array<std::size_t, 3> at{};
    std::size_t total = 0;
    for (int c = 0; c < planes; ++c) {
      at[static_cast<std::size_t>(c)] = total;
      total += static_cast<std::size_t>(tjPlaneWidth(c, width_px, sampling)) *
               static_cast<std::size_t>(tjPlaneHeight(c, height_px, sampling));
    }
    memory.assign(total, 128);  // mid-grey where the decoder gives up, and not another camera's picture
    for (int c = 0; c < 3; ++c) {
      const auto i = static_cast<std::size_t>(c);
      plane[i] = c < planes ? memory.data() + at[i] : nullptr;
    }
  }
};

base::Result<std::vector<std::byte>> encode(Planes& planes, int width_px, int height_px, int sampling,
                                            int quality) {
  thread_local std::vector<unsigned char> scratch;
  scratch.resize(tjBufSize(width_px, height_px, sampling));
  unsigned char* to = scratch.data();
  unsigned long size = scratch.size();
  std::array<const unsigned char*, 3> from = {planes.plane[0], planes.plane[1], planes.plane[2]};
  auto* const encoder = thread_encoder();
  if (tjCompressFromYUVPlanes(encoder, from.data(), width_px, nullptr, height_px, sampling, &to, &size,
                              quality, TJFLAG_NOREALLOC) != 0) {
    return decoder_error(encoder, kWhere);
  }
  const auto* begin = reinterpret_cast<const std::byte*>(to);
  return std::vector<std::byte>(begin, begin + size);
}

}  // namespace

std::optional<int> size_step_for(int want_width_px) {
  if (want_width_px <= 0) return std::nullopt;
  const auto* step = std::lower_bound(kSizeSteps_px.begin(), kSizeSteps_px.end(), want_width_px);
  if (step == kSizeSteps_px.end()) return std::nullopt;
  return *step;
}

base::Result<std::optional<std::vector<std::byte>>> compute_scaled(std::span<const std::byte> jpeg,
                                                                   int want_width_px, int quality) {
  if (want_width_px < 1) {
    return base::Error(base::ErrorCode::invalid_value, std::string(kWhere),
                       "a width of " + std::to_string(want_width_px) + " px",
                       "Give a width of 1 px or more.");
  }
  if (quality < 1 || quality > 100) {
    return base::Error(base::ErrorCode::invalid_value, std::string(kWhere),
                       "a quality of " + std::to_string(quality), "Give a quality from 1 to 100.");
  }
  const auto info = walked(jpeg, kWhere);
  if (!info) return info.error();
  const tjscalingfactor factor = {eighths_for(info->width_px, want_width_px), 8};
  if (factor.num == 8) return std::optional<std::vector<std::byte>>();

  auto* const decoder = thread_decoder(*info);
  int width_px = 0;
  int height_px = 0;
  int sampling = 0;
  int colours = 0;
  if (tjDecompressHeader3(decoder, as_uchar(jpeg), jpeg.size(), &width_px, &height_px, &sampling, &colours) !=
          0 ||
      (colours != TJCS_YCbCr && colours != TJCS_GRAY)) {
    return base::Error(base::ErrorCode::unsupported, std::string(kWhere),
                       "a picture with colour sampling " + std::string(name_of(info->sampling)) +
                           " or colours that are not YCbCr");
  }
  const int to_width_px = TJSCALED(width_px, factor);
  const int to_height_px = TJSCALED(height_px, factor);
  thread_local Planes planes;
  planes.lay_out(to_width_px, to_height_px, sampling);
  if (tjDecompressToYUVPlanes(decoder, as_uchar(jpeg), jpeg.size(), planes.plane.data(), to_width_px, nullptr,
                              to_height_px, TJFLAG_LIMITSCANS) != 0 &&
      !only_warned(decoder)) {
    return decoder_error(decoder, kWhere);
  }
  auto encoded = encode(planes, to_width_px, to_height_px, sampling, quality);
  if (!encoded) return encoded.error();
  return std::optional<std::vector<std::byte>>(std::move(*encoded));
}

}  // namespace rookery::jpeg
