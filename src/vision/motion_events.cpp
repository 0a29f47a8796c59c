#include "vision/motion_events.h"

#include <cmath>

namespace rookery::vision {
namespace {

constexpr base::Microseconds kForget{3'000'000};
constexpr base::Microseconds kDawn{2'000'000};
constexpr double kLeak_s = 2;
// What moves so soon after a lamp, when the picture is looked at again, moved before.
constexpr base::Microseconds kAtOnce{500'000};
constexpr base::Microseconds kMostBack{5'000'000};

// What is told of a lamp or another view: a moment, the whole picture.
MotionEvent whole_picture(MotionEvent::Cause cause, const MotionFrame& frame, int width, int height) {
  return {cause, frame.at, frame.at, 1, {0, 0, width, height}, width, height, frame.at};
}

}  // namespace

std::string_view name_of(MotionEvent::Cause cause) {
  switch (cause) {
    case MotionEvent::Cause::motion:
      return "motion";
    case MotionEvent::Cause::lighting:
      return "lighting";
    case MotionEvent::Cause::view:
      return "view";
  }
  return "motion";
}

std::optional<MotionEvent::Cause> cause_of(std::string_view word) {
  using enum MotionEvent::Cause;
  for (const MotionEvent::Cause cause : {motion, lighting, view}) {
    if (name_of(cause) == word) return cause;
  }
  return std::nullopt;
}

std::optional<MotionEvent> MotionEvents::add(const MotionFrame& frame, int grid_width, int grid_height) {
  using Cause = MotionEvent::Cause;
  std::optional<MotionEvent> over;
  if (event_ && frame.at - event_->end >= kGap) over = finish();
  if (waiting_ && !over) over = std::exchange(waiting_, std::nullopt);
  if (perhaps_ && frame.at - perhaps_->end >= kForget) perhaps_.reset();
  if (frame.light == MotionFrame::Light::switched || frame.view_changed) {
    perhaps_.reset();
    evidence_s_ = 0;
    switched_ = frame.view_changed ? std::nullopt : std::optional(frame.at);
    // A lamp that needs a moment to come on looks like something that moves, for that moment.
    if (event_ && frame.at - event_->start < kDawn) event_.reset();
    auto moment =
        whole_picture(frame.view_changed ? Cause::view : Cause::lighting, frame, grid_width, grid_height);
    if (!over) return moment;
    waiting_ = std::move(moment);
    return over;
  }
  if (frame.dazzled) dazzled_ = frame.at;
  take(frame, grid_width, grid_height);
  return over;
}

void MotionEvents::take(const MotionFrame& frame, int grid_width, int grid_height) {
  const double dt_s = last_ ? std::min(std::chrono::duration<double>(frame.at - *last_).count(), 1.0) : 0;
  last_ = frame.at;
  const double share =
      static_cast<double>(frame.moving_cells) / (static_cast<double>(grid_width) * grid_height);
  evidence_s_ = evidence_s_ * std::exp(-dt_s / kLeak_s) + share * dt_s;
  if (frame.moving_cells == 0) return;
  CellBox box;
  base::Microseconds since = frame.at;
  for (const MovingRegion& region : frame.regions) {
    if (!region.counts) continue;
    box = box.united(region.box);
    since = std::min(since, region.began);
  }
  std::optional<MotionEvent>& event = event_ ? event_ : perhaps_;
  if (!event) {
    // Who switches a lamp or opens a door moves while nothing can be told from the light. Not further back
    // than what cameras keep of the time before an event.
    if (switched_ && since <= dazzled_ + kAtOnce) since = std::max(*switched_, since - kMostBack);
    event =
        MotionEvent{MotionEvent::Cause::motion, since, frame.at, 0, box, grid_width, grid_height, frame.at};
  }
  event->end = frame.at;
  event->box = event->box.united(box);
  const double now = static_cast<double>(frame.now_cells) / (static_cast<double>(grid_width) * grid_height);
  if (now > event->peak) {
    event->peak = now;
    event->best_at = frame.at;
  }
  const double hold_s = std::chrono::duration<double>(kHold).count();
  if (!event_ && evidence_s_ >= sensitivity_.least_share() * hold_s)
    event_ = std::exchange(perhaps_, std::nullopt);
}

std::optional<MotionEvent> MotionEvents::finish() {
  return std::exchange(waiting_ ? waiting_ : event_, std::nullopt);
}

}  // namespace rookery::vision
