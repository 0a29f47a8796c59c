// Loops over cells are written so that the compiler makes vector instructions of them where it can.
#include "vision/motion_detector.h"

#include <algorithm>
#include <cmath>

#include "vision/levelling.h"
#include "vision/motion_numbers.h"

namespace rookery::vision {
namespace {

using namespace motion;

float rate(double dt_s, double tau_s) { return static_cast<float>(1 - std::exp(-dt_s / tau_s)); }

double seconds(base::Microseconds time) { return std::chrono::duration<double>(time).count(); }

// How alike the fine structure of two pictures is, −1 to 1: of each cell the difference to those left, right,
// above and below it. A lamp leaves it as it was, another view does not.
double likeness(const jpeg::LumaGrid& a, const jpeg::LumaGrid& b) {
  const auto width = static_cast<std::size_t>(a.width);
  float aa = 0;
  float bb = 0;
  float ab = 0;
  for (std::size_t row = 1; row + 1 < static_cast<std::size_t>(a.height); ++row) {
    const std::uint8_t* x = &a.cells[row * width];
    const std::uint8_t* y = &b.cells[row * width];
    int row_aa = 0;
    int row_bb = 0;
    int row_ab = 0;
    for (std::size_t i = 1; i + 1 < width; ++i) {
      const int fine_x = 4 * x[i] - x[i - 1] - x[i + 1] - *(x + i - width) - *(x + i + width);
      const int fine_y = 4 * y[i] - y[i - 1] - y[i + 1] - *(y + i - width) - *(y + i + width);
      row_aa += fine_x * fine_x;
      row_bb += fine_y * fine_y;
      row_ab += fine_x * fine_y;
    }
    aa += static_cast<float>(row_aa);
    bb += static_cast<float>(row_bb);
    ab += static_cast<float>(row_ab);
  }
  const double both = std::sqrt(static_cast<double>(aa) * static_cast<double>(bb));
  return both > 0 ? static_cast<double>(ab) / both : 1;
}

}  // namespace

double Sensitivity::least_share() const {
  constexpr std::array kShares = {0.02, 0.01, 0.004, 0.002, 0.001};
  return kShares[static_cast<std::size_t>(std::clamp(step, kCoarsest, kFinest) - kCoarsest)];
}

double Sensitivity::noise_margin() const {
  constexpr std::array kMargins = {4.0, 3.0, 2.5, 2.2, 2.0};
  return kMargins[static_cast<std::size_t>(std::clamp(step, kCoarsest, kFinest) - kCoarsest)];
}

MotionDetector::MotionDetector(Sensitivity sensitivity, Mask mask)
    : sensitivity_(sensitivity), mask_(std::move(mask)) {}

void MotionDetector::set(Sensitivity sensitivity, Mask mask) {
  sensitivity_ = sensitivity;
  mask_ = std::move(mask);
  covered_ = mask_.over(width_, height_);
}

void MotionDetector::begin(int width, int height) {
  width_ = width;
  height_ = height;
  seen_ = 0;
  learned_s_ = 0;
  relearn_s_ = 0;
  usual_cells_ = 0;
  const std::size_t cells = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  const std::size_t framed = static_cast<std::size_t>(width + 2) * static_cast<std::size_t>(height + 2);
  noise_.assign(cells, kFirstNoise);
  levelled_.assign(cells, 0);
  expected_.assign(cells, 0);
  factors_.assign(static_cast<std::size_t>(width), 1);
  bands_.assign(static_cast<std::size_t>(height), 0);
  band_all_.assign(kBandRows * static_cast<std::size_t>(width), 0);
  band_wanted_.assign(kBandRows * static_cast<std::size_t>(width), 0);
  field_.begin(width, height);
  difference_.assign(cells, 0);
  over_.assign(framed, 0);
  votes_.assign(static_cast<std::size_t>(width) + 2, 0);
  activity_.assign(cells, 0);
  restless_.assign(cells, 0);
  spell_s_.assign(cells, 0);
  counted_s_.assign(cells, 0);
  machine_s_.assign(cells, 0);
  passing_s_.assign(cells, 0);
  passed_over_.assign(cells, 0);
  const auto tiles = static_cast<std::size_t>((width + kTile - 1) / kTile) *
                     static_cast<std::size_t>((height + kTile - 1) / kTile);
  paused_s_.assign(tiles, kPause_s);
  working_s_.assign(tiles, 0);
  humming_s_.assign(tiles, 0);
  visited_s_.assign(tiles, 0);
  changing_.assign(tiles, 0);
  rest_s_.assign(cells, kLongRest);
  age_s_.assign(framed, 0);
  age_before_s_.assign(framed, 0);
  label_.assign(cells, 0);
  label_before_.assign(cells, 0);
  tracks_.clear();
  tracks_before_.clear();
  covered_ = mask_.over(width, height);
}

void MotionDetector::look_first(const jpeg::LumaGrid& grid) {
  begin(grid.width, grid.height);
  before_ = flat_ = grid;
  background_.assign(grid.cells.begin(), grid.cells.end());
  recent_ = background_;
  quantum_ = quantum_of(grid);
}

const MotionFrame& MotionDetector::add(const jpeg::LumaGrid& grid, base::Microseconds at) & {
  const auto cells =
      static_cast<std::size_t>(std::max(grid.width, 0)) * static_cast<std::size_t>(std::max(grid.height, 0));
  frame_ = {.at = at, .regions = std::move(frame_.regions)};
  frame_.regions.clear();
  if (grid.damaged || cells == 0 || grid.cells.size() != cells) return frame_;
  if (grid.width != width_ || grid.height != height_) {
    look_first(grid);
  } else if (seen_ > 0 && at <= at_) {
    return frame_;
  } else {
    // After a gap nothing is known of what happened meanwhile.
    const double dt_s = seen_ == 0 ? kUsualStep_s : std::min(seconds(at - at_), kLongestStep_s);
    if (seen_ % kQuantumEvery == 0) quantum_ = quantum_of(grid);
    level(grid);
    compare(dt_s);
    judge_light(grid);
    if (is_blind()) {
      frame_.dazzled = lamp_;
      std::ranges::fill(activity_, std::uint8_t{0});
      std::ranges::fill(age_s_, 0.0F);
      std::ranges::fill(label_, std::uint16_t{0});
      tracks_.clear();
    } else {
      find_regions(grid, dt_s);
    }
    learn(grid, dt_s);
    follow_spells(dt_s);
    if (seen_ % kSpreadEvery == 0) spread_restless();
    learned_s_ += dt_s;
    relearn_until_settled(dt_s);
  }
  ++seen_;
  at_ = at;
  return frame_;
}

// Until it is known how the picture looks. After a lamp only until most of it has come to rest: who switched
// it, or opened a door, moves just then.
bool MotionDetector::is_blind() const {
  if (learned_s_ < kFirstLearning_s) return true;
  if (relearn_s_ <= 0) return false;
  return !lamp_ || relearned_s_ < kBlind_s || changed_ > kUnsettled * static_cast<double>(background_.size());
}

// Light that was still changing when it was learned would leave its opposite behind.
void MotionDetector::relearn_until_settled(double dt_s) {
  if (relearn_s_ <= 0) return;
  relearned_s_ += dt_s;
  relearn_s_ = std::max(0.0, relearn_s_ - dt_s);
  const auto moving = std::ranges::count_if(rest_s_, [](float rest) { return rest < kMoving_s; });
  const double share = static_cast<double>(moving) / static_cast<double>(rest_s_.size());
  const bool may_go_on = relearned_s_ < kMostRelearn_s;
  if (relearn_s_ < kUsualStep_s && may_go_on && share > kUnsettled) relearn_s_ = kUsualStep_s;
  if (relearn_s_ > 0) return;
  relearned_s_ = 0;
  lamp_ = false;
}

void MotionDetector::resume() {
  relearn_s_ = kRelearn_s;
  lamp_ = false;
}

// What remains of the difference to the background when exposure and banding are taken out.
void MotionDetector::level(const jpeg::LumaGrid& grid) {
  const auto width = static_cast<std::size_t>(width_);
  for (std::size_t i = 0; i < background_.size(); ++i)
    before_.cells[i] = static_cast<std::uint8_t>(std::clamp(background_[i] + 0.5F, 0.0F, 255.0F));
  for (std::size_t row = 0; row < static_cast<std::size_t>(height_); ++row) {
    field_.row(static_cast<int>(row), factors_);
    for (std::size_t x = 0, i = row * width; x < width; ++x, ++i)
      flat_.cells[i] =
          static_cast<std::uint8_t>(std::min(static_cast<float>(grid.cells[i]) / factors_[x] + 0.5F, 255.0F));
  }
  exposure_ = fit_exposure(before_, flat_);
  expect();
  field_.follow(expected_, grid.cells);
  expect();
  for (std::size_t i = 0; i < background_.size(); ++i) {
    difference_[i] = static_cast<std::int16_t>(
        kUnit * (static_cast<float>(grid.cells[i]) - std::clamp(expected_[i], 0.0F, 255.0F)));
    // How bright it really was is not known: with less exposure it may well be brighter than that.
    if (background_[i] >= kClipped) difference_[i] = std::min<std::int16_t>(difference_[i], 0);
  }
  unband();
  for (std::size_t i = 0; i < background_.size(); ++i)
    levelled_[i] = background_[i] + static_cast<float>(difference_[i]) / kUnit;
}

void MotionDetector::expect() {
  const auto width = static_cast<std::size_t>(width_);
  const auto gain = static_cast<float>(exposure_.gain);
  const auto offset = static_cast<float>(exposure_.offset);
  for (std::size_t row = 0; row < static_cast<std::size_t>(height_); ++row) {
    field_.row(static_cast<int>(row), factors_);
    for (std::size_t x = 0, i = row * width; x < width; ++x, ++i)
      expected_[i] = factors_[x] * (gain * background_[i] + offset);
  }
}

// Lamps on the mains brighten and darken rows, each cell by the same share of what it has. Reweighted, so
// that what moves across the row has little say. Several rows side by side: a sum waits for each addition.
void MotionDetector::unband() {
  const auto width = static_cast<std::size_t>(width_);
  const auto height = static_cast<std::size_t>(height_);
  for (std::size_t row = 0; row < height; row += kBandRows) {
    const std::size_t rows = std::min(kBandRows, height - row);
    std::array<float, kBandRows> shares{};
    for (int pass = 0; pass < kBandPasses; ++pass) {
      for (std::size_t r = 0; r < rows; ++r) weigh_band((row + r) * width, shares[r], r);
      std::array<float, kBandRows> all{};
      std::array<float, kBandRows> wanted{};
      for (std::size_t i = 0; i < width; ++i) {
        for (std::size_t r = 0; r < kBandRows; ++r) {
          all[r] += band_all_[r * width + i];
          wanted[r] += band_wanted_[r * width + i];
        }
      }
      for (std::size_t r = 0; r < rows; ++r) shares[r] += wanted[r] / std::max(all[r], 1.0F);
    }
    for (std::size_t r = 0; r < rows; ++r) bands_[row + r] = take_out_band((row + r) * width, shares[r]);
  }
}

// What each cell of a row adds to the sums.
void MotionDetector::weigh_band(std::size_t first, float share, std::size_t slot) {
  const auto width = static_cast<std::size_t>(width_);
  const float* background = &background_[first];
  const std::int16_t* change = &difference_[first];
  float* all = &band_all_[slot * width];
  float* wanted = &band_wanted_[slot * width];
  for (std::size_t i = 0; i < width; ++i) {
    const float off = static_cast<float>(change[i]) / kUnit - share * background[i];
    const float weight = background[i] / (1 + off * off / kHalfWeight);
    all[i] = weight * background[i];
    wanted[i] = weight * off;
  }
}

// Only where it explains most of the row. The share, or 0.
float MotionDetector::take_out_band(std::size_t first, float share) {
  const auto width = static_cast<std::size_t>(width_);
  const float* background = &background_[first];
  std::int16_t* change = &difference_[first];
  if (std::abs(share) * kMidGrey * kUnit > kMostBand) return 0;
  const auto near = static_cast<float>(std::max(kLeastThreshold, kQuantumMargin * quantum_));
  int beside = 0;
  for (std::size_t i = 0; i < width; ++i)
    beside += std::abs(static_cast<float>(change[i]) / kUnit - share * background[i]) <= near ? 1 : 0;
  if (static_cast<float>(beside) < kBandRow * static_cast<float>(width)) return 0;
  for (std::size_t i = 0; i < width; ++i)
    change[i] = static_cast<std::int16_t>(static_cast<float>(change[i]) - share * kUnit * background[i]);
  return share;
}

// Which cells differ from the background by more than they use to, by the vote of their neighbours; for how
// long something has been there; where something changes from picture to picture.
void MotionDetector::compare(double dt_s) {
  const auto width = static_cast<std::size_t>(width_);
  const std::size_t stride = width + 2;
  const auto least = static_cast<float>(std::max(kLeastThreshold, kQuantumMargin * quantum_));
  const auto margin = static_cast<float>(sensitivity_.noise_margin());
  const auto dt = static_cast<float>(dt_s);
  changed_ = jumped_ = 0;
  for (std::size_t row = 0; row < static_cast<std::size_t>(height_); ++row) {
    std::uint8_t* over = &over_[(row + 1) * stride + 1];
    for (std::size_t i = 0, cell = row * width; i < width; ++i, ++cell) {
      const float threshold = std::max(least, margin * noise_[cell]);
      const bool is_over = std::abs(static_cast<float>(difference_[cell])) > threshold * kUnit;
      const bool moved = std::abs(levelled_[cell] - recent_[cell]) > std::max(least, kLiveShare * threshold);
      changed_ += is_over ? 1U : 0U;
      jumped_ += moved && is_over ? 1U : 0U;
      over[i] = is_over && covered_[cell] == 0 ? 1 : 0;
      rest_s_[cell] = moved ? 0 : std::min(rest_s_[cell] + dt, kLongRest);
    }
  }
  std::swap(age_s_, age_before_s_);
  unsigned voted = 0;
  for (std::size_t row = 0; row < static_cast<std::size_t>(height_); ++row) voted += vote(row, dt);
  const double share = static_cast<double>(voted) / static_cast<double>(background_.size());
  frame_.energy = static_cast<std::uint8_t>(std::lround(255 * std::sqrt(std::min(share / kFullShare, 1.0))));
}

unsigned MotionDetector::vote(std::size_t row, float dt_s) {
  const auto width = static_cast<std::size_t>(width_);
  const std::size_t stride = width + 2;
  const std::uint8_t* above = &over_[row * stride];
  const std::uint8_t* at = above + stride;
  const std::uint8_t* below = at + stride;
  for (std::size_t i = 0; i < stride; ++i) votes_[i] = static_cast<std::uint8_t>(above[i] + at[i] + below[i]);
  unsigned voted = 0;
  float* age = &age_s_[(row + 1) * stride];
  const float* old = &age_before_s_[(row + 1) * stride];
  for (std::size_t i = 1, cell = row * width; i <= width; ++i, ++cell) {
    const bool yes = at[i] != 0 && votes_[i - 1] + votes_[i] + votes_[i + 1] >= kVotes;
    voted += yes ? 1U : 0U;
    activity_[cell] = static_cast<std::uint8_t>(yes ? std::min(activity_[cell] + 2, kMostActivity)
                                                    : std::max(activity_[cell] - 1, 0));
    age[i] = 0;
    if (!yes) continue;
    float oldest = 0;
    for (const float* line : {old - stride, old, old + stride})
      oldest = std::max({oldest, line[i - 1], line[i], line[i + 1]});
    age[i] = std::min(oldest + dt_s, kMostAge_s);
  }
  return voted;
}

// Decides whether so much has changed at once that no thing can have done it.
void MotionDetector::judge_light(const jpeg::LumaGrid& grid) {
  const auto cells = static_cast<double>(background_.size());
  if (relearn_s_ > 0 || learned_s_ < kFirstLearning_s || changed_ <= kSwitchedShare * cells) return;
  const double like = likeness(before_, grid);
  if (like > kAlike) {
    frame_.light = MotionFrame::Light::switched;
    relearn_s_ = kRelearn_s;
    lamp_ = true;
  } else if (jumped_ > kJumpShare * cells) {
    frame_.view_changed = true;
    std::ranges::fill(spell_s_, 0.0F);
    std::ranges::fill(counted_s_, 0.0F);
    std::ranges::fill(machine_s_, 0.0F);
    std::ranges::fill(passing_s_, 0.0F);
    relearn_s_ = kRelearn_s;
  }
}

void MotionDetector::learn(const jpeg::LumaGrid& grid, double dt_s) {
  const bool fast = relearn_s_ > 0 || learned_s_ < kFirstLearning_s;
  const float usual = rate(dt_s, fast ? kRelearnTau_s : kBackgroundTau_s);
  const float under_things = rate(dt_s, fast ? kRelearnTau_s : kThingTau_s);
  const float at_rest = rate(dt_s, fast ? kRelearnTau_s : kAtRestTau_s);
  const float lately = rate(dt_s, fast ? kRelearnTau_s : kRecentTau_s);
  const float exposed = rate(dt_s, fast ? kRelearnTau_s : kExposureTau_s);
  const float restless = rate(dt_s, kRestlessTau_s);
  const auto steps = static_cast<float>(dt_s / kNoiseStep_s);
  const float rise = (learned_s_ < kNoiseLearning_s ? kFirstNoiseRise : kNoiseRise) * steps;
  const float slow_rise = rise * kNoiseUnderThings;
  const float fall = kNoiseFall * steps;
  unsigned usual_movers = 0;
  const auto width = static_cast<std::size_t>(width_);
  for (std::size_t row = 0; row < static_cast<std::size_t>(height_); ++row) {
    // What is taken out of a row again and again is no band but another light: the row follows it, lest it go
    // on until it is more than a band can be. What is less than a cell's rounding may be anything's.
    const float band = bands_[row] - std::clamp(bands_[row], -kNoBand, kNoBand);
    for (std::size_t i = row * width; i < (row + 1) * width; ++i) {
      const float change = static_cast<float>(difference_[i]) / kUnit;
      const bool thing = activity_[i] >= kActive;
      usual_movers += thing && passed_over_[i] != 0 ? 1U : 0U;
      const bool moves = thing && rest_s_[i] <= kMoving_s;
      restless_[i] += restless * ((moves ? 1.0F : 0.0F) - restless_[i]);
      const float alpha = !thing ? usual : rest_s_[i] > kAtRest_s ? at_rest : under_things;
      const float followed = exposed * (expected_[i] - background_[i] + band * background_[i]);
      background_[i] += alpha * change + followed;
      recent_[i] += lately * (levelled_[i] - recent_[i]) + followed;
      const float size = std::abs(change);
      if (!fast) {
        const float up = counts(i) ? slow_rise : rise;
        noise_[i] = std::clamp(noise_[i] + (size > noise_[i] ? up : -fall), kLeastNoise, kMostNoise);
      }
    }
  }
  usual_cells_ += static_cast<double>(rate(dt_s, kUsualTau_s)) * (usual_movers - usual_cells_);
  if (!fast) return;
  field_.clear();
  // A lamp leaves another exposure than the one that was fitted: the picture itself is the truth.
  for (std::size_t i = 0; i < background_.size(); ++i)
    background_[i] += usual * (static_cast<float>(grid.cells[i]) - background_[i]);
}

}  // namespace rookery::vision
