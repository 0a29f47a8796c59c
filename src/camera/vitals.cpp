#include "camera/vitals.h"

#include <algorithm>

namespace rookery::camera {
namespace {

// A minute of which less was measured would say too much of too little.
constexpr double kLeastMeasured_s = 30;

double grown(std::uint64_t now, std::uint64_t then) { return static_cast<double>(now - std::min(now, then)); }

double broken(const Counters& counters) { return static_cast<double>(counters.rejected_total()); }

double seconds(std::chrono::nanoseconds span) { return std::chrono::duration<double>(span).count(); }

}  // namespace

void VitalsSum::add(const Vitals& vitals) {
  ++spans_;
  sum_.live += vitals.live;
  sum_.frames_per_s += vitals.frames_per_s;
  sum_.bytes_a_frame += vitals.bytes_a_frame * vitals.frames_per_s;
  frames_ += vitals.frames_per_s;
  sum_.longest_gap_s = std::max(sum_.longest_gap_s, vitals.longest_gap_s);
  sum_.jitter_s += vitals.jitter_s;
  sum_.broken += vitals.broken;
  sum_.connects += vitals.connects;
  sum_.dropouts += vitals.dropouts;
  if (vitals.light) {
    light_ += *vitals.light;
    ++lit_;
  }
}

Vitals VitalsSum::mean() const {
  Vitals mean = sum_;
  mean.live /= spans_;
  mean.frames_per_s /= spans_;
  mean.bytes_a_frame = frames_ > 0 ? sum_.bytes_a_frame / frames_ : 0;
  mean.jitter_s /= spans_;
  if (lit_ > 0) mean.light = light_ / lit_;
  return mean;
}

std::optional<VitalsBook::Minute> VitalsBook::close(const Open& open) {
  if (open.measured_s < kLeastMeasured_s) return std::nullopt;
  Minute minute{open.at, open.sum};
  minute.vitals.live = std::min(1.0, open.live_s / open.measured_s);
  minute.vitals.frames_per_s = open.frames / open.measured_s;
  minute.vitals.bytes_a_frame = open.frames > 0 ? open.bytes / open.frames : 0;
  if (open.lit > 0) minute.vitals.light = open.light / open.lit;
  return minute;
}

std::optional<VitalsBook::Minute> VitalsBook::read(const Reading& reading, base::WallTime now,
                                                   std::chrono::nanoseconds since) {
  std::optional<Minute> ended;
  const base::WallTime at = std::chrono::floor<std::chrono::minutes>(now);
  if (open_ && open_->at != at) {
    ended = close(*open_);
    open_.reset();
  }
  if (!open_) open_.emplace(Open{.at = at});
  const Counters then = last_.value_or(reading.counters);
  const bool first = !last_;
  last_ = reading.counters;
  // After more than a minute (the computer slept) nobody can say which minute it was of.
  if (first || reading.state == State::off || since > kVitalsStep) return ended;

  Open& open = *open_;
  const double since_s = seconds(since);
  open.measured_s += since_s;
  if (reading.state == State::live) open.live_s += since_s;
  open.frames += grown(reading.counters.published, then.published);
  open.bytes += grown(reading.counters.bytes, then.bytes);
  open.sum.broken += std::max(0.0, broken(reading.counters) - broken(then));
  open.sum.connects += grown(reading.counters.connects, then.connects);
  open.sum.dropouts += grown(reading.counters.dropouts, then.dropouts);
  open.sum.longest_gap_s = std::max(open.sum.longest_gap_s, seconds(reading.arrivals.longest));
  open.sum.jitter_s = seconds(reading.arrivals.jitter);  // smoothed already: the latest stands for the minute
  if (reading.light) {
    open.light += *reading.light;
    ++open.lit;
  }
  return ended;
}

}  // namespace rookery::camera
