#include "vision/job_watch.h"

#include <algorithm>
#include <cmath>

#include "vision/job_body.h"

namespace rookery::vision {
namespace {

using base::Error;
using base::ErrorCode;

constexpr float kGrain = 4;     // … before it is brought into the usual light: noise, and steps of the JPEG
constexpr float kBusy = 0.08F;  // of the stills: where the machine works
constexpr double kBusyFor_s = 300;
constexpr double kSettle_s = 20;           // after a lamp was switched
constexpr float kDim = 0.4F;               // of the usual light
constexpr double kOtherFor_s = 1'800;      // after which another view is the usual one
constexpr double kLongestSpacing_s = 600;  // of stills
constexpr double kStirred = 0.1;           // of what is known of it, a still
constexpr double kForgotten = 1.0 / 60;    // of the movement that is known, a second of rest
constexpr float kRelit = 0.35F;            // of the picture changes at once: a lamp, or another view

Error outside(const char* option, double value, const char* range) {
  return {ErrorCode::invalid_value, "job watch", fmt::format("{} is {}", option, value),
          fmt::format("Give {}.", range)};
}

bool holds(double value, double least, double most) { return value >= least && value <= most; }

}  // namespace

base::Result<JobWatch> JobWatch::make(const JobWatchOptions& options) {
  if (!holds(options.still_every_s, 0.5, 600))
    return outside("still_every_s", options.still_every_s, "0.5 to 600");
  if (!holds(options.still_after_s, 60, 86'400))
    return outside("still_after_s", options.still_after_s, "60 to 86400");
  if (!holds(options.expected_s, 0, 366 * 86'400.0))
    return outside("expected_s", options.expected_s, "0 to a year");
  if (options.bed) {
    const PictureShare& bed = *options.bed;
    if (!holds(bed.x, 0, 1) || !holds(bed.y, 0, 1) || !holds(bed.width, 0.01, 1) ||
        !holds(bed.height, 0.01, 1))
      return outside("bed", bed.width, "a part of the picture, in shares of it");
  }
  return JobWatch(std::make_unique<Body>(options));
}

JobWatch::JobWatch(std::unique_ptr<Body> body) : body_(std::move(body)) {}
JobWatch::JobWatch(JobWatch&&) noexcept = default;
JobWatch& JobWatch::operator=(JobWatch&&) noexcept = default;
JobWatch::~JobWatch() = default;

std::vector<JobReport> JobWatch::add(const jpeg::LumaGrid& grid, double at_s) {
  return body_->add(grid, at_s);
}
bool JobWatch::looks_so(JobSign sign) const { return body_->looks_so(sign); }
bool JobWatch::stands(JobSign sign) const { return body_->stands(sign); }
JobNow JobWatch::now() const { return body_->now(); }
JobFacts JobWatch::facts() const { return body_->facts(); }
std::vector<std::uint8_t> JobWatch::growth() const { return body_->growth(); }
int JobWatch::width() const { return body_->width(); }
int JobWatch::height() const { return body_->height(); }
std::vector<std::byte> JobWatch::save() const { return body_->save(); }
base::Result<void> JobWatch::restore(std::span<const std::byte> saved) { return body_->restore(saved); }

void JobWatch::Body::begin(const jpeg::LumaGrid& grid) {
  // As many cells of another size as show the same movement: it would else be held against too many for good.
  if (!busy_.empty())
    usual_cells_ *= static_cast<double>(grid.cells.size()) / static_cast<double>(busy_.size());
  width_ = grid.width;
  height_ = grid.height;
  typical_.assign(grid.cells.begin(), grid.cells.end());
  before_ = lowest_ = highest_ = typical_;
  slot_.clear();
  first_stills_ = slot_stills_ = slots_ = 0;
  const std::size_t cells = grid.cells.size();
  busy_.assign(cells, 0);
  for (auto* map : {&outside_, &growth_}) map->assign(cells, 0);
  grown_.clear();
  active_.clear();
  seen_.begin(cells);
  news_.begin(width_, height_);
  lately_.clear();
  rest_ = {};
  slot_from_s_ = at_s_;
  quiet_from_s_ = at_s_;
  pause_s_ = 0;
}

std::vector<JobReport> JobWatch::Body::add(const jpeg::LumaGrid& grid, double at_s) {
  std::vector<JobReport> reports;
  if (grid.damaged || grid.cells.empty() || !std::isfinite(at_s) || at_s <= at_s_) return reports;
  last_s_ = at_s_;
  at_s_ = at_s;
  if (grid.width != width_ || grid.height != height_) {
    begin(grid);
    return reports;
  }
  // A board with a weak radio may never send stills as often as they are wanted.
  const double gap_s = at_s_ - last_s_;
  const bool was_away = gap_s > std::max({60.0, 6 * options_.still_every_s, 3 * spacing_s_});
  spacing_s_ += 0.1 * (std::min(gap_s, kLongestSpacing_s) - spacing_s_);
  if (was_away) pass_gap(gap_s);
  double sum = 0;
  for (const std::uint8_t cell : grid.cells) sum += cell;
  darkness_ = sum / static_cast<double>(grid.cells.size());

  Levelled light = levelled(grid, typical_);
  const Cells& flat = light.flat;
  dim_ = light.share < kDim;
  // What the camera no longer shows cannot be judged; nor can what a lamp changes, until it is learned.
  if (!judge_view(grid, light, reports)) {
    // Behind a cover nothing rests. The last picture that was seen stays the one to compare with: what is on
    // the cover would else be taken for a light.
    if (!was_away) put_off(gap_s);
    // A camera that was knocked and left so shows the job all the same.
    const Sign& other = sign(JobSign::knocked);
    if (other.stands && other.since_s >= 0 && at_s_ - other.since_s >= kOtherFor_s) begin(grid);
    return reports;
  }
  if (!follow_light(light)) {
    judge_motion(light, reports);
    if (!is_soft()) {
      judge_news(light, reports);
      learn_slot(flat);
    }
  }
  before_ = std::move(light.flat);
  return reports;
}

// Of that time nothing is known to have rested.
void JobWatch::Body::put_off(double gap_s) {
  quiet_from_s_ += gap_s;
  rest_.from_s += gap_s;
}

// The camera was away: of that time nothing is known, so nothing was quiet or looked so.
void JobWatch::Body::pass_gap(double gap_s) {
  put_off(gap_s);
  for (Sign& one : signs_) {
    if (one.since_s >= 0) one.since_s += gap_s;
    if (one.gone_s >= 0) one.gone_s += gap_s;
  }
}

// Where a lamp casts other shadows much of the picture changes at once and for good: what is known is brought
// into its light as well as it can be.
bool JobWatch::Body::follow_light(const Levelled& light) {
  const Cells& flat = light.flat;
  std::size_t changed = 0;
  for (std::size_t i = 0; i < flat.size(); ++i) {
    const float limit = std::max(2 * kNews, 2 * kGrain / light.shares[i]);
    changed += std::fabs(flat[i] - before_[i]) > limit ? 1U : 0U;
  }
  if (static_cast<float>(changed) < kRelit * static_cast<float>(flat.size())) return false;
  Cells apart(flat.size());
  for (std::size_t i = 0; i < flat.size(); ++i) apart[i] = flat[i] - before_[i];
  const Cells smooth = box_mean(apart, width_, height_, 4);
  for (Cells* known : {&typical_, &lowest_, &highest_}) {
    for (std::size_t i = 0; i < known->size(); ++i) (*known)[i] += smooth[i];
  }
  slot_.clear();
  slot_stills_ = 0;
  std::fill(outside_.begin(), outside_.end(), std::uint8_t{0});
  seen_.begin(flat.size());
  news_.relight(smooth);
  lately_.clear();
  rest_ = {};
  relit_s_ = at_s_;
  return true;
}

CellMask JobWatch::Body::machine() const {
  CellMask mask(busy_.size(), 0);
  if (options_.bed) {
    const PictureShare& bed = *options_.bed;
    for (int y = 0; y < height_; ++y) {
      for (int x = 0; x < width_; ++x) {
        const double at_x = (x + 0.5) / width_;
        const double at_y = (y + 0.5) / height_;
        if (at_x >= bed.x && at_x <= bed.x + bed.width && at_y >= bed.y && at_y <= bed.y + bed.height)
          mask[static_cast<std::size_t>(y * width_ + x)] = 1;
      }
    }
    return mask;
  }
  for (std::size_t i = 0; i < mask.size(); ++i) mask[i] = busy_[i] >= kBusy ? 1 : 0;
  // Nothing is known yet: anything may be the machine.
  if (count_of(mask) < 4) return CellMask(busy_.size(), 1);
  return widened(mask, width_, height_, 1);
}

CellMask JobWatch::Body::grown() const {
  CellMask mask(growth_.size());
  for (std::size_t i = 0; i < mask.size(); ++i) mask[i] = growth_[i] >= 128 ? 1 : 0;
  return mask;
}

void JobWatch::Body::judge_motion(const Levelled& light, std::vector<JobReport>& reports) {
  // While a lamp comes on or goes out nothing is known to move, and nothing to rest.
  if (relit_s_ >= 0 && at_s_ - relit_s_ < kSettle_s) return;
  const Cells& flat = light.flat;
  const float limit = news_limit(flat, before_, kNews);
  const CellMask where = machine();
  const double dt_s = std::min(at_s_ - last_s_, 4 * options_.still_every_s);
  const auto share = static_cast<float>(std::min(0.2, dt_s / kBusyFor_s));
  double cells = 0;
  double weight = 0;
  for (std::size_t i = 0; i < flat.size(); ++i) {
    const bool moved = std::fabs(flat[i] - before_[i]) > std::max(limit, kGrain / light.shares[i]);
    cells += moved && where[i] != 0 ? 1 : 0;
    weight += moved ? static_cast<double>(busy_[i]) : 0;
    busy_[i] += ((moved ? 1.0F : 0.0F) - busy_[i]) * share;
  }
  const bool active = cells >= std::max(2.0, 0.25 * usual_cells_);
  if (active && active_s_ >= kLearn_s) learn_work(flat);
  note_place(weight);
  note_movement(active, cells, dt_s);
  const double quiet_s = at_s_ - quiet_from_s_;
  // What it did last before it rested was coming to rest.
  if (quiet_s >= kLookAt_s) {
    lately_.clear();
    begin_rest(flat);
  }
  judge_rest(flat, reports);
}

void JobWatch::Body::note_movement(bool active, double cells, double dt_s) {
  active_.push_back(active ? 1 : 0);
  if (active_.size() > kActive) active_.erase(active_.begin());
  stirs_ += ((cells >= 2 ? 1.0 : 0.0) - stirs_) * kStirred;
  if (!active) {
    active_s_ = std::max(0.0, active_s_ - kForgotten * dt_s);
    return;
  }
  active_s_ += dt_s;
  // Follows the median; in little light less is seen to move than does.
  const double step = std::max(0.5, 0.04 * usual_cells_);
  if (!dim_) usual_cells_ += cells > usual_cells_ ? step : -step;
  // One still may show a hand, or a noise: two of four are a movement.
  const auto newest = std::min<std::size_t>(4, active_.size());
  const auto lately =
      std::count(active_.end() - static_cast<std::ptrdiff_t>(newest), active_.end(), std::uint8_t{1});
  if (lately < 2) return;
  pause_s_ = std::max(pause_s_, last_s_ - quiet_from_s_);
  // It went on: that was a pause.
  if (std::count(active_.begin(), active_.end(), std::uint8_t{1}) >= 3) {
    if (active_s_ > kLearn_s) longest_quiet_s_ = std::max(longest_quiet_s_, pause_s_);
    pause_s_ = 0;
  }
  end_rest();
}

void JobWatch::Body::tell(JobSign which, const Look& look, std::vector<JobReport>& reports) {
  Sign& one = sign(which);
  one.judged_s = at_s_;
  const auto report = [&](bool over, double before_s) {
    JobReport made;
    made.sign = which;
    made.over = over;
    made.at_s = at_s_;
    made.before_s = std::clamp(before_s, 0.0, at_s_);
    made.strength = std::clamp(look.strength, 0.0, 1.0);
    made.sure = look.sure;
    made.where = look.where;
    reports.push_back(made);
  };
  if (look.looks) {
    one.gone_s = -1;
    if (one.since_s < 0) one.since_s = std::max(last_s_, 0.0);
    if (at_s_ - one.since_s < look.hold_s || (one.stands && (one.sure || !look.sure))) return;
    one.stands = true;
    one.sure = look.sure;
    report(false, look.before_s >= 0 ? look.before_s : one.since_s - 2 * options_.still_every_s);
    return;
  }
  one.since_s = -1;
  if (!one.stands) return;
  if (one.gone_s < 0) one.gone_s = at_s_;
  if (at_s_ - one.gone_s < look.free_s) return;
  one = Sign{};
  report(true, at_s_);
}

// At the last still, and not as it was told before that one.
bool JobWatch::Body::looks_so(JobSign which) const {
  const Sign& one = sign(which);
  if (!one.stands || one.gone_s >= 0) return false;
  // Once the picture is learned as it is now, that something came cannot be seen any more.
  if (which == JobSign::loose) return loose_kept_ && at_s_ - one.judged_s < kLookEvery_s;
  return one.judged_s >= at_s_;
}

JobNow JobWatch::Body::now() const {
  JobNow now;
  if (width_ == 0) return now;
  const auto cells = static_cast<double>(busy_.size());
  now.quiet_s = std::max(0.0, at_s_ - quiet_from_s_);
  now.phase = sign(JobSign::finished).stands ? JobPhase::finished
              : active_s_ < kLearn_s         ? JobPhase::learning
              : now.quiet_s >= kResting_s    ? JobPhase::resting
                                             : JobPhase::working;
  now.moving_share = usual_cells_ / cells;
  if (!grown_.empty()) now.grown_share = grown_.back() / cells;
  const double slot_s = std::max(60.0, 9 * options_.still_every_s);
  const auto back = static_cast<std::size_t>(std::lround(1200 / slot_s));
  if (back > 0 && grown_.size() > back) {
    const auto before = static_cast<double>(grown_[grown_.size() - 1 - back]);
    now.grown_per_hour = (grown_.back() - before) / cells * 3600 / (static_cast<double>(back) * slot_s);
  }
  if (options_.bed) {
    now.bed = *options_.bed;
  } else if (active_s_ >= kLearn_s) {
    const CellMask mask = machine();
    if (count_of(mask) < mask.size()) now.bed = share_of(box_of(mask, width_, height_), width_, height_);
  }
  return now;
}

JobFacts JobWatch::Body::facts() const {
  const JobNow is = now();
  return {std::max(0.0, at_s_), longest_quiet_s_, is.moving_share, is.grown_share};
}

}  // namespace rookery::vision
