#include "archive/lapse_size.h"

#include <algorithm>
#include <cmath>

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;

constexpr int kWidest_px = 1920;     // unless more is asked for
constexpr int kWidestWebp_px = 480;  // an animation of stills grows large
constexpr int kLeastSide_px = 16;
constexpr int kMostHeight_px = 4320;
// Of all frames together. The encoder holds about a byte a pixel until it is done (measured: 0.6, noisy
// pictures).
constexpr double kMostWebp_px = 300e6;
// What is left at least of a film from which the dark is left out (vision::leave_out_dark()).
constexpr std::size_t kLeastLit = 4;  // one in so many

}  // namespace

base::Result<camera::PixelSize> film_size(camera::PixelSize picture, std::size_t frames,
                                          const LapseRequest& request) {
  const int widest = request.format == FilmFormat::webp ? kWidestWebp_px : kWidest_px;
  const int width = request.width_px > 0 ? request.width_px : std::min(picture.width_px, widest);
  const double height = static_cast<double>(width) * picture.height_px / picture.width_px;
  const camera::PixelSize size{std::max(2, width & ~1),
                               std::max(2, static_cast<int>(std::lround(height / 2)) * 2)};
  const std::string where = request.what + ": lapse";
  const std::string shape = fmt::format("{}×{} px", size.width_px, size.height_px);
  if (std::min(size.width_px, size.height_px) < kLeastSide_px)
    return Error(ErrorCode::invalid_value, where, "a film of " + shape, "make it wider");
  if (size.height_px > kMostHeight_px)
    return Error(ErrorCode::too_large, where, "the film would be of " + shape, "make it narrower");
  const double card = request.card.empty() ? 0 : kLapseCard_s * request.frames_per_s;
  const double all = static_cast<double>(frames) + card;
  if (request.format == FilmFormat::webp && all * size.width_px * size.height_px > kMostWebp_px) {
    return Error(
        ErrorCode::too_large, where,
        fmt::format("an animated picture of {:.0f} frames of {} would be held in memory whole", all, shape),
        "make it narrower or shorter, or an MP4");
  }
  return size;
}

base::Result<void> check_sizes(std::span<const camera::PixelSize> pictures, std::size_t frames,
                               const LapseRequest& request) {
  const std::size_t least = request.lit_only ? (frames + kLeastLit - 1) / kLeastLit : frames;
  const auto makes_film = [&](camera::PixelSize size) { return film_size(size, least, request).has_value(); };
  if (pictures.empty() || std::ranges::any_of(pictures, makes_film)) return base::ok();
  return film_size(pictures.front(), frames, request).error();
}

}  // namespace rookery::archive
