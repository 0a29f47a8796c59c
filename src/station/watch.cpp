#include "station/watch.h"

#include <numeric>

namespace rookery::station {
namespace {

using base::Microseconds;

// The detector's time: of the frames' monotonic clock.
Microseconds time_of(base::MonoTime mono) {
  return std::chrono::duration_cast<Microseconds>(mono.time_since_epoch());
}

base::MonoTime mono_of(Microseconds at) {
  return base::MonoTime(std::chrono::duration_cast<base::MonoTime::duration>(at));
}

}  // namespace

void Watch::set(vision::Sensitivity sensitivity, vision::Mask mask) {
  const std::lock_guard lock(mutex_);
  motion_.set(sensitivity, std::move(mask));
}

base::Result<void> Watch::restore(std::span<const std::byte> saved) {
  const std::lock_guard lock(mutex_);
  auto restored = motion_.restore(saved);
  // Nobody knows what happened since.
  if (restored) motion_.resume();
  return restored;
}

std::vector<std::byte> Watch::save() const {
  const std::lock_guard lock(mutex_);
  return motion_.save();
}

bool Watch::is_new(const camera::FramePtr& frame) const {
  if (!frame) return false;
  const std::lock_guard lock(mutex_);
  return frame->number != seen_;
}

Watch::Seen Watch::look(const camera::FramePtr& frame, const jpeg::LumaGrid* grid, const Now& now) {
  const std::lock_guard lock(mutex_);
  Seen seen;
  if (finished_) return seen;
  std::optional<std::uint8_t> energy;
  if (frame && frame->number != seen_) {
    seen_ = frame->number;
    energy = std::uint8_t{0};
    // A damaged grid would show movement where the decoder filled in.
    if (grid != nullptr && !grid->damaged) energy = take(*frame, *grid, now, seen);
  } else if (const auto& event = motion_.under_way();
             event && time_of(now.mono) - event->end >= vision::MotionEvents::kGap) {
    // No frame comes that would end it.
    const auto over = motion_.finish();
    seen.changes = teller_.tell(over, std::nullopt, last_at_, last_wall_);
  }
  seen.mark = strip_.look(energy, now.status, now.source, now.wall);
  return seen;
}

std::uint8_t Watch::take(const camera::Frame& frame, const jpeg::LumaGrid& grid, const Now& now, Seen& seen) {
  const Microseconds at = time_of(frame.arrived_mono);
  // A board that is asked once a minute is not away in between.
  if (last_at_ != Microseconds{} && at - last_at_ > kAway && now.source == camera::Source::stream)
    motion_.resume();
  last_at_ = at;
  last_wall_ = frame.arrived;
  ++looked_at_;
  const auto sum = std::accumulate(grid.cells.begin(), grid.cells.end(), std::uint64_t{0});
  light_ = grid.cells.empty() ? 0 : static_cast<double>(sum) / static_cast<double>(grid.cells.size());
  const auto over = motion_.add(grid, at);
  const auto& under_way = motion_.under_way();
  seen.changes = teller_.tell(over, under_way, at, frame.arrived);
  if (under_way) {
    seen.moving = Moving{mono_of(under_way->start), mono_of(under_way->end)};
  } else if (over && over->cause != vision::MotionEvent::Cause::motion) {
    seen.moving = Moving{mono_of(over->start), mono_of(over->end)};
  }
  return motion_.energy();
}

std::vector<EventChange> Watch::finish() {
  const std::lock_guard lock(mutex_);
  finished_ = true;
  const auto over = motion_.finish();
  return teller_.tell(over, std::nullopt, last_at_, last_wall_);
}

std::optional<archive::Event> Watch::under_way() const {
  const std::lock_guard lock(mutex_);
  return teller_.under_way();
}

std::optional<double> Watch::light(base::MonoTime now) const {
  const std::lock_guard lock(mutex_);
  if (looked_at_ == 0 || time_of(now) - last_at_ > kAway) return std::nullopt;
  return light_;
}

std::uint64_t Watch::looked_at() const {
  const std::lock_guard lock(mutex_);
  return looked_at_;
}

std::uint64_t Watch::ended() const {
  const std::lock_guard lock(mutex_);
  return teller_.ended();
}

}  // namespace rookery::station
