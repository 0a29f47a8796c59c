#include "station/strip_watch.h"

namespace rookery::station {
namespace {

base::WallTime step_of(base::WallTime time) {
  const auto since = time.time_since_epoch();
  return base::WallTime{since - since % std::chrono::duration_cast<base::Microseconds>(archive::kStripStep)};
}

bool is_trouble(camera::State state) {
  return state == camera::State::silent || state == camera::State::waiting ||
         state == camera::State::connecting;
}

}  // namespace

std::optional<StripMark> StripWatch::look(const camera::FramePtr& frame, const camera::Status& status,
                                          camera::Source source, base::WallTime now) {
  const std::lock_guard lock(mutex_);
  std::optional<StripMark> ended;
  const base::WallTime at = step_of(now);
  // Another step, also when the clock was set back: what was gathered belongs to the step it began in.
  if (step_ && step_->at != at) {
    ended = StripMark{step_->at, {step_->energy, health_of(*step_, source)}};
    step_.reset();
  }
  if (!step_) step_ = Step{.at = at};

  if (frame && frame->number != seen_) {
    seen_ = frame->number;
    step_->saw_frame = true;
    // A damaged grid would show movement where the decoder filled in.
    if (jpeg::compute_luma_grid(frame->view(), grid_) && !grid_.damaged) {
      step_->energy = std::max(step_->energy, energy_.add(grid_));
    }
  }
  const std::uint64_t rejected = status.counters.rejected_total();
  if (rejected != rejected_ || status.counters.dropouts != dropouts_ || is_trouble(status.state))
    step_->saw_trouble = true;
  rejected_ = rejected;
  dropouts_ = status.counters.dropouts;
  if (status.state != camera::State::off) step_->was_on = true;
  return ended;
}

archive::Health StripWatch::health_of(const Step& step, camera::Source source) const {
  if (step.saw_frame) return step.saw_trouble ? archive::Health::rough : archive::Health::live;
  // A board that pushes sleeps between stills: no frame is no fault.
  if (!step.was_on || source == camera::Source::pushed) return archive::Health::none;
  return archive::Health::down;
}

}  // namespace rookery::station
