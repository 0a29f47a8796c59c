#include "archive/segment_cut.h"

namespace rookery::archive {
namespace {

using std::chrono::duration_cast;
using std::chrono::seconds;

constexpr seconds kShortestGap{5};
constexpr seconds kGapWhileUnknown{60};
// NTP slews by at most 500 ppm: 0.3 s in a segment of ten minutes. More than this was a step.
constexpr seconds kClockStep{1};

std::int64_t period_of(base::WallTime time, seconds length) {
  return std::chrono::floor<seconds>(time).time_since_epoch() / length;
}

}  // namespace

std::string_view name_of(Cut cut) {
  switch (cut) {
    case Cut::none:
      return "none";
    case Cut::length:
      return "length reached";
    case Cut::size:
      return "picture size changed";
    case Cut::clock_set:
      return "clock was set";
    case Cut::gap:
      return "gap";
  }
  return "none";
}

void UsualInterval::add(base::Microseconds interval) {
  if (interval < base::Microseconds{0}) return;
  usual_ = usual_.count() == 0 ? interval : usual_ + (interval - usual_) / 8;
}

base::Microseconds UsualInterval::gap_limit() const {
  if (usual_.count() == 0) return kGapWhileUnknown;
  return std::max<base::Microseconds>(kShortestGap, usual_ * 8);
}

Cut cut_before(const SegmentSoFar& segment, const camera::Frame& next, seconds segment_length,
               base::Microseconds gap_limit) {
  const auto wall_passed = next.arrived - segment.first_wall;
  const auto mono_passed = duration_cast<base::Microseconds>(next.arrived_mono - segment.first_mono);
  if (std::chrono::abs(wall_passed - mono_passed) > kClockStep) return Cut::clock_set;
  if (next.arrived_mono - segment.last_mono > gap_limit) return Cut::gap;
  if (next.size != segment.size) return Cut::size;
  if (period_of(next.arrived, segment_length) != period_of(segment.first_wall, segment_length))
    return Cut::length;
  return Cut::none;
}

Cut cut_while_idle(const SegmentSoFar& segment, base::WallTime now_wall, base::MonoTime now_mono,
                   seconds segment_length, base::Microseconds gap_limit) {
  const auto idle = now_mono - segment.last_mono;
  if (idle > gap_limit) return Cut::gap;
  if (idle > kShortestGap &&
      period_of(now_wall, segment_length) != period_of(segment.first_wall, segment_length))
    return Cut::length;
  return Cut::none;
}

}  // namespace rookery::archive
