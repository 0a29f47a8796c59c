// What a person sets for one camera.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>

#include "base/name.h"

namespace rookery::camera {

// How pictures come from the board.
enum class Source {
  stream,  // one motion-JPEG connection
  stills,  // the still address is asked again and again
  pushed,  // the board sends stills to us (battery cameras that sleep)
};

// immutable value. Addresses are http:// or https:// URLs without user information (that is in user/password).
struct Settings {
  base::CameraName name;
  std::string title;  // for people; empty means the name
  Source source = Source::stream;
  std::string stream_address;  // empty unless source is stream
  std::string still_address;   // optional with stream, needed with stills
  std::string user;            // sign-in to the board, basic or digest; empty when it has none
  std::string password;        // never logged, never sent to a page
  std::chrono::milliseconds poll_every{1000};  // source stills: 100 ms to 1 h
  bool enabled = true;                         // false: not pulled
  bool recording = true;
  std::optional<std::chrono::hours> keep_for;  // retention by age; none: until space runs out
  std::optional<std::uint64_t> keep_bytes;     // retention by bytes of this camera; none: no bound of its own

  explicit Settings(base::CameraName name_) : name(std::move(name_)) {}
  bool operator==(const Settings&) const = default;
};

}  // namespace rookery::camera
