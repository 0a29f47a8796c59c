// JobWatch: a machine that rests: it has finished, it stands still, or a hand disturbed it.
#include <algorithm>
#include <cmath>

#include "vision/job_body.h"

namespace rookery::vision {
namespace {

constexpr double kFinished_s = 60;
constexpr double kLeastRest = 3;      // stills
constexpr double kWorked_s = 120;     // of movement, before it can be finished
constexpr double kAge_s = 15;         // of work: it is remembered for ten minutes
constexpr std::size_t kLater = 5;     // stills: what work follows by then was no coming to rest
constexpr std::size_t kKnown = 16;    // stills of work, before it is asked whether it stands as in them
constexpr double kNovel = 0.0035;     // of the picture: a head aside, even a small one
constexpr double kDisturbed_s = 120;  // of movement that leaves all as it was: a hand
constexpr double kStirs = 0.5;        // of the last stills
constexpr double kDark = 16;          // mean, grey levels

}  // namespace

void JobWatch::Body::end_rest() {
  if (rest_.broken_s < 0) rest_.broken_s = at_s_;
  quiet_from_s_ = at_s_;
  parked_ = unparked_ = 0;
}

// It rests: as before it was disturbed, or anew.
void JobWatch::Body::begin_rest(const Cells& flat) {
  if (!rest_.flat.empty() && rest_.broken_s < 0) return;
  if (!rest_.flat.empty() && quiet_from_s_ - rest_.broken_s < kDisturbed_s) {
    const CellMask where = machine();
    const float limit = news_limit(flat, rest_.flat, 2 * kNews);
    double other = 0;
    for (std::size_t i = 0; i < flat.size(); ++i)
      other += where[i] != 0 && std::fabs(flat[i] - rest_.flat[i]) > limit ? 1 : 0;
    if (other < std::max(4.0, 0.1 * usual_cells_)) {
      rest_.broken_s = -1;
      return;
    }
  }
  rest_ = {flat, quiet_from_s_, -1};
}

// Hands that came and went meanwhile are left out.
double JobWatch::Body::rested_s() const {
  const bool goes_on = !rest_.flat.empty() && rest_.broken_s < 0;
  return at_s_ - (goes_on ? std::min(rest_.from_s, quiet_from_s_) : quiet_from_s_);
}

// A still of work is learned when work has followed it: it is none in which the machine came to rest.
void JobWatch::Body::learn_work(const Cells& flat) {
  std::vector<std::uint8_t> still(flat.size());
  for (std::size_t i = 0; i < still.size(); ++i)
    still[i] = static_cast<std::uint8_t>(std::clamp(flat[i] + 0.5F, 0.0F, 255.0F));
  lately_.push_back(std::move(still));
  if (lately_.size() <= kLater) return;
  seen_.see(lately_.front());
  lately_.erase(lately_.begin());
  if (at_s_ - aged_s_ < std::max(kAge_s, options_.still_every_s)) return;
  aged_s_ = at_s_;
  seen_.grow_older();
}

// It stands as it did not while it worked.
bool JobWatch::Body::is_parked(const Cells& flat) const {
  if (seen_.stills() < kKnown) return false;
  const std::size_t novel = count_of(solid_part(seen_.novel(flat), width_, height_));
  return static_cast<double>(novel) > kNovel * static_cast<double>(flat.size());
}

double JobWatch::Body::still_after() const {
  double after_s = options_.still_after_s;
  for (const JobFacts& job : options_.good) after_s = std::max(after_s, 1.2 * job.longest_quiet_s);
  return after_s;
}

void JobWatch::Body::judge_rest(const Cells& flat, std::vector<JobReport>& reports) {
  const double quiet_s = at_s_ - quiet_from_s_;
  const bool early = options_.expected_s > 0 && at_s_ < 0.8 * options_.expected_s;
  const bool dark = darkness_ < kDark || dim_;
  const bool was_finished = sign(JobSign::finished).stands;
  const bool goes_on = std::count(active_.begin(), active_.end(), std::uint8_t{1}) >= 5;
  // Asked while it rests, and in the light in which it came to rest.
  // One still that is as the one before is no rest, however long ago that was.
  const double least_s = kLeastRest * options_.still_every_s;
  if (quiet_s >= kLookAt_s && quiet_s <= std::max(2 * kFinished_s, least_s) && relit_s_ < quiet_from_s_)
    ++(is_parked(flat) ? parked_ : unparked_);
  const bool looks_finished =
      was_finished
          ? !goes_on
          : active_s_ >= kWorked_s && quiet_s >= std::max(kFinished_s, least_s) && parked_ > unparked_;
  const bool something_grew = !grown_.empty() && grown_.back() >= 6;
  tell(JobSign::finished,
       {.looks = looks_finished,
        .strength = something_grew ? 0.9 : 0.5,
        .sure = something_grew && !early && !dark,
        .before_s = quiet_from_s_},
       reports);
  // What it did before it came to rest is no going on.
  if (sign(JobSign::finished).stands && !was_finished) active_.clear();
  const bool as_it_should = sign(JobSign::finished).stands && !early;
  // Less than a quarter of what is usual, but all the time: work on something smaller, or a fan.
  const bool stirs = stirs_ > kStirs;
  tell(JobSign::still,
       {.looks = active_s_ >= kLearn_s && rested_s() >= std::max(still_after(), least_s) && !as_it_should,
        .free_s = kResting_s,  // a hand that comes and goes is no going on
        .strength = 0.9,
        .sure = active_s_ >= kWorked_s && !dark && !stirs && !sign(JobSign::finished).stands,
        .before_s = at_s_ - rested_s()},
       reports);
}

}  // namespace rookery::vision
