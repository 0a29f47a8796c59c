#include "archive/event_cause.h"

namespace rookery::archive {

std::string_view name_of(EventCause cause) {
  switch (cause) {
    case EventCause::motion:
      return "motion";
    case EventCause::lighting:
      return "lighting";
    case EventCause::view:
      return "view";
    case EventCause::job:
      return "job";
  }
  return "motion";
}

std::optional<EventCause> event_cause_of(std::string_view word) {
  for (const EventCause cause :
       {EventCause::motion, EventCause::lighting, EventCause::view, EventCause::job}) {
    if (name_of(cause) == word) return cause;
  }
  return std::nullopt;
}

EventCause event_cause(vision::MotionEvent::Cause cause) {
  switch (cause) {
    case vision::MotionEvent::Cause::motion:
      return EventCause::motion;
    case vision::MotionEvent::Cause::lighting:
      return EventCause::lighting;
    case vision::MotionEvent::Cause::view:
      return EventCause::view;
  }
  return EventCause::motion;
}

}  // namespace rookery::archive
