#include "station/strip_steps.h"

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

std::optional<StripMark> StripSteps::look(std::optional<std::uint8_t> energy, const camera::Status& status,
                                          camera::Source source, base::WallTime now) {
  std::optional<StripMark> ended;
  const base::WallTime at = step_of(now);
  // Another step, also when the clock was set back: what was gathered belongs to the step it began in.
  if (step_ && step_->at != at) {
    ended = StripMark{step_->at, {step_->energy, health_of(*step_, source)}};
    step_.reset();
  }
  if (!step_) step_ = Step{.at = at};

  if (energy) {
    step_->saw_frame = true;
    step_->energy = std::max(step_->energy, *energy);
  }
  const std::uint64_t rejected = status.counters.rejected_total();
  if (rejected != rejected_ || status.counters.dropouts != dropouts_) step_->saw_trouble = true;
  if (is_trouble(status.state)) step_->saw_trouble = step_->saw_silence = true;
  rejected_ = rejected;
  dropouts_ = status.counters.dropouts;
  if (status.state != camera::State::off) step_->was_on = true;
  return ended;
}

archive::Health StripSteps::health_of(const Step& step, camera::Source source) const {
  if (step.saw_frame) return step.saw_trouble ? archive::Health::rough : archive::Health::live;
  // A board that pushes sleeps between stills: no frame is no fault.
  if (!step.was_on || source == camera::Source::pushed) return archive::Health::none;
  // A board that is asked once a minute is live all the time; whether it should have sent is the pull's to
  // say.
  if (step.saw_silence) return archive::Health::down;
  return step.saw_trouble ? archive::Health::rough : archive::Health::live;
}

}  // namespace rookery::station
