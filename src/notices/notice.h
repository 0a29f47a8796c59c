// Notice: one message about one event for one receiver.
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "archive/event_store.h"

namespace rookery::notices {

enum class What : std::uint8_t {
  begun,  // an event has begun
  ended,  // … is over
  pause,  // a machine's software is asked to pause its job
  test,   // nothing happened: somebody wants to see whether notices arrive
};
// "begun", "ended", "pause", "test".
std::string_view name_of(What what);
What what_of(std::string_view word);  // test for any other word

// immutable value.
struct Notice {
  std::int64_t id = 0;
  What what = What::test;
  base::WallTime made;
  std::string camera;   // name; empty for a test
  std::string title;    // the camera's, for people
  std::string event;    // the event as the API gives it, JSON; "null" for a test
  std::string still;    // JPEG; may be empty
  bool motion = false;  // it switches the camera's state of motion, where a receiver shows one
  bool operator==(const Notice&) const = default;
};

// {"notice":ID,"what":"begun","made_at":…,"camera":…,"title":…,"event":{…},"still":null or base64}.
std::string body_of(const Notice& notice);
// One line for a person: "Back door: motion at 14:31:02, lower left".
std::string subject_of(const Notice& notice);
// A few lines for a person.
std::string text_of(const Notice& notice);

}  // namespace rookery::notices
