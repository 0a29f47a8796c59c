// JobWatch: whether the camera still shows the job: knocked, covered, out of focus.
#include <algorithm>
#include <cmath>

#include "vision/job_body.h"

namespace rookery::vision {
namespace {

constexpr double kOther = 0.4;      // correlation with the usual view, below which it is another
constexpr double kFlat = 0.15;      // of the usual contrast: nothing is to be seen
constexpr double kSoft = 0.45;      // … less than sharp
constexpr double kLeastDetail = 6;  // mean square, grey levels: with less nothing can be told
constexpr double kGrain = 2;        // mean square, grey levels as they come: nothing but noise and steps
constexpr double kHold_s = 45;      // who stands before the camera for a while moves nothing
constexpr double kSoft_s = 120;
constexpr double kSoftFor_s = 1'800;  // after which a soft view is the usual one
constexpr double kFree_s = 10;
constexpr double kDark = 16;           // mean, grey levels: it may be the lamp
constexpr double kLeastStatic = 0.05;  // of the picture

}  // namespace

// Whether the picture can be judged at all.
bool JobWatch::Body::judge_view(const jpeg::LumaGrid& grid, const Levelled& light,
                                std::vector<JobReport>& reports) {
  if (slots_ == 0) return true;
  const double mean = darkness_;
  CellMask still = machine();
  for (std::uint8_t& cell : still) cell = cell == 0 ? 1 : 0;
  if (static_cast<double>(count_of(still)) < kLeastStatic * static_cast<double>(still.size())) return true;
  // In one light all over: what is levelled row by row would show some of the usual view behind any cover.
  Cells seen(grid.cells.begin(), grid.cells.end());
  for (float& cell : seen) cell /= light.share;
  const Likeness like =
      compare(high_pass(typical_, width_, height_), high_pass(seen, width_, height_), still);
  if (like.energy_a < kLeastDetail) return true;
  const double contrast = like.energy_b / like.energy_a;
  // A dark picture is grainy once it is brought into the usual light.
  const bool grain = like.energy_b * static_cast<double>(light.share * light.share) < kGrain;
  const bool nothing = (contrast < kFlat || grain) && like.correlation < 0.7;
  const bool other = !nothing && like.correlation < kOther;
  const bool soft = !nothing && !other && contrast < kSoft;
  tell(JobSign::covered,
       {.looks = nothing,
        .hold_s = kHold_s,
        .free_s = kFree_s,
        .strength = 1 - contrast,
        .sure = mean >= kDark},
       reports);
  tell(JobSign::knocked,
       {.looks = other,
        .hold_s = kHold_s,
        .free_s = kFree_s,
        .strength = std::clamp(1 - like.correlation, 0.0, 1.0),
        .sure = mean >= kDark && contrast > 0.3},
       reports);
  tell(JobSign::unsharp, {.looks = soft, .hold_s = kSoft_s, .free_s = 60, .strength = 1 - contrast}, reports);
  return !nothing && !other;
}

// What is out of focus is not learned: the view would soon be taken for the usual one.
bool JobWatch::Body::is_soft() const {
  const Sign& soft = sign(JobSign::unsharp);
  return soft.since_s >= 0 && at_s_ - soft.since_s < kSoftFor_s;
}

}  // namespace rookery::vision
