#include <algorithm>
#include <cmath>
#include <deque>

#include "vision/cell_light.h"
#include "vision/job_cells.h"
#include "vision/job_watch.h"

namespace rookery::vision {
namespace {

constexpr float kNews = 7;         // grey levels
constexpr float kRelit = 0.35F;    // of the picture at once: a lamp, not a machine
constexpr double kQuiet_s = 60;    // it rested before: what always moves is leaves
constexpr double kWorking_s = 90;  // it has moved for so long
constexpr double kPause_s = 12;    // without a longer pause
constexpr double kMemory_s = 60;   // of which cells moved
constexpr float kOften = 0.3F;     // of the looks: a machine moves about one place, a person goes through
constexpr std::size_t kLeastCells = 3;
constexpr double kAway_s = 60;  // without a picture

}  // namespace

class WorkSense::Body {
 public:
  std::optional<double> add(const jpeg::LumaGrid& grid, double at_s) {
    if (grid.damaged || grid.cells.empty() || !std::isfinite(at_s) || (seen_ && at_s <= at_s_)) return {};
    const double dt_s = at_s - at_s_;
    if (!seen_ || grid.width != width_ || grid.height != height_ || dt_s > kAway_s) {
      begin(grid, at_s);
      return {};
    }
    at_s_ = at_s;
    const Cells flat = levelled(grid, before_).flat;
    const float limit = news_limit(flat, before_, kNews);
    const auto share = static_cast<float>(std::min(0.5, dt_s / kMemory_s));
    std::size_t moved = 0;
    for (std::size_t i = 0; i < flat.size(); ++i) {
      const bool one = std::fabs(flat[i] - before_[i]) > limit;
      moved += one ? 1U : 0U;
      often_[i] += ((one ? 1.0F : 0.0F) - often_[i]) * share;
    }
    before_.assign(grid.cells.begin(), grid.cells.end());
    if (static_cast<float>(moved) > kRelit * static_cast<float>(flat.size())) return {};
    return judge(moved >= kLeastCells);
  }

 private:
  void begin(const jpeg::LumaGrid& grid, double at_s) {
    seen_ = true;
    width_ = grid.width;
    height_ = grid.height;
    at_s_ = at_s;
    rested_from_s_ = at_s;
    rested_ = false;
    began_s_.reset();
    before_.assign(grid.cells.begin(), grid.cells.end());
    often_.assign(grid.cells.size(), 0);
  }

  std::optional<double> judge(bool moves) {
    if (moves) {
      moved_s_ = at_s_;
      if (!began_s_ && rested_) began_s_ = at_s_;
    } else if (!began_s_) {
      rested_ = rested_ || at_s_ - rested_from_s_ >= kQuiet_s;
    }
    if (moves && !rested_) rested_from_s_ = at_s_;
    if (!began_s_) return {};
    if (at_s_ - moved_s_ > kPause_s) {  // whoever it was has gone
      began_s_.reset();
      return {};
    }
    if (at_s_ - *began_s_ < kWorking_s) return {};
    const auto steady = std::count_if(often_.begin(), often_.end(), [](float one) { return one >= kOften; });
    if (static_cast<std::size_t>(steady) < kLeastCells) return {};
    const double began_s = *began_s_;
    began_s_.reset();
    rested_ = false;  // told once: the next must rest before
    rested_from_s_ = at_s_;
    return began_s;
  }

  bool seen_ = false;
  int width_ = 0;
  int height_ = 0;
  double at_s_ = 0;
  double moved_s_ = 0;
  double rested_from_s_ = 0;
  bool rested_ = false;
  std::optional<double> began_s_;
  Cells before_;
  std::vector<float> often_;
};

WorkSense::WorkSense() : body_(std::make_unique<Body>()) {}
WorkSense::WorkSense(WorkSense&&) noexcept = default;
WorkSense& WorkSense::operator=(WorkSense&&) noexcept = default;
WorkSense::~WorkSense() = default;

std::optional<double> WorkSense::add(const jpeg::LumaGrid& grid, double at_s) {
  return body_->add(grid, at_s);
}

}  // namespace rookery::vision
