// Inner: the pictures of one slot's window, made alike in light, and what is learnt of them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "vision/lapse_choice.h"

namespace rookery::vision {

// Eighths of a grey level of a picture whose middle is 128, so that gain and exposure do not count.
using LapseCell = std::int16_t;
inline constexpr int kLapseUnit = 8;

struct WindowPicture {
  std::size_t number = 0;
  double at_s = 0;
  double light = 0;  // mean of the middle half of its cells, grey levels
  double sharpness = 0;
  double unusable = 0;
  double head_share = 0;
};

// strand-bound. Closed once, after which pictures no longer come and what is learnt stands.
class LapseWindow {
 public:
  LapseWindow(int slot, std::size_t cells) : slot_(slot), stride_(cells) {}

  int slot() const { return slot_; }
  // Takes the picture, in part `part` of the window: one picture a part, the first that is usable.
  void take(const LapsePicture& picture, std::size_t number, int part);
  void close();

  std::size_t size() const { return pictures_.size(); }
  std::vector<WindowPicture>& pictures() { return pictures_; }
  const std::vector<WindowPicture>& pictures() const { return pictures_; }
  std::span<const LapseCell> cells(std::size_t picture) const& {
    return std::span(cells_).subspan(picture * stride_, stride_);
  }
  // After close(). The median of each cell, and how far it strays from it on the average (at most 40 grey
  // levels).
  std::span<const LapseCell> median() const& { return median_; }
  std::span<const LapseCell> spread() const& { return spread_; }
  double usual_sharpness() const { return sharpness_; }  // median of those known; 0: none is

  // Lets the pictures' cells go; the rest stays.
  void forget_cells() { std::vector<LapseCell>().swap(cells_); }
  std::size_t bytes() const;

 private:
  int slot_;
  std::size_t stride_;
  int part_ = -1;  // of the last picture
  std::vector<WindowPicture> pictures_;
  std::vector<LapseCell> cells_;
  std::vector<LapseCell> median_;
  std::vector<LapseCell> spread_;
  double sharpness_ = 0;
};

// Cells that between the windows `before` and `after` changed to stay: 1, else 0.
std::vector<std::uint8_t> grown_cells(std::span<const LapseWindow* const> before,
                                      std::span<const LapseWindow* const> after);

// Says of each picture of `window` what share of it the head takes: cells that come and go, did not grow, and
// differ from what usually stands there in `around`. Returns those that come and go: 1, else 0.
std::vector<std::uint8_t> learn_head(LapseWindow& window, std::span<const LapseWindow* const> around,
                                     std::span<const std::uint8_t> grown);

// Σ min(|a − b|, 40 grey levels), in eighths. Both of one length.
std::uint32_t unlike_sum(std::span<const LapseCell> a, std::span<const LapseCell> b);

}  // namespace rookery::vision
