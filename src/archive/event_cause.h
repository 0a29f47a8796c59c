// EventCause: what an event of the log is about.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "vision/motion_events.h"

namespace rookery::archive {

enum class EventCause : std::uint8_t {
  motion,  // these three: as vision::MotionEvent has them
  lighting,
  view,
  job,  // something is to be told of a job; the event's detail says what
};
// "motion", "lighting", "view", "job".
std::string_view name_of(EventCause cause);
// Nothing for any other word.
std::optional<EventCause> event_cause_of(std::string_view word);
EventCause event_cause(vision::MotionEvent::Cause cause);

}  // namespace rookery::archive
