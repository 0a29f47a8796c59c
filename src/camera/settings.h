// What a person sets for one camera.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/name.h"
#include "vision/mask.h"
#include "vision/sensitivity.h"

namespace rookery::camera {

// How pictures come from the board.
enum class Source {
  stream,  // one motion-JPEG connection
  stills,  // the still address is asked again and again
  pushed,  // the board sends stills to us (battery cameras that sleep)
};

// "stream", "stills", "pushed": in the catalog, the API and the command line.
std::string_view name_of(Source source);
// Nothing for any other word.
std::optional<Source> source_of(std::string_view word);

// What is recorded.
enum class Record {
  always,
  events,  // what moves, from `pre_roll` before to `post_roll` after
  never,
};

// "always", "events", "never": in the catalog, the API and the command line.
std::string_view name_of(Record record);
// Nothing for any other word.
std::optional<Record> record_of(std::string_view word);

// immutable value. Addresses are http:// or https:// URLs without user information (that is in
// user/password).
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
  Record record = Record::always;
  std::chrono::milliseconds pre_roll{5'000};    // 0 to 30 s
  std::chrono::milliseconds post_roll{10'000};  // 0 to 120 s
  vision::Sensitivity sensitivity;
  vision::Mask mask;                           // what motion ignores
  std::optional<std::chrono::hours> keep_for;  // retention by age; none: until space runs out
  std::optional<std::uint64_t> keep_bytes;     // retention by bytes of this camera; none: no bound of its own

  explicit Settings(base::CameraName name_) : name(std::move(name_)) {}
  bool operator==(const Settings&) const = default;
};

// Whether both ask the same board in the same way: a change of anything else does not disturb the connection.
bool same_board(const Settings& a, const Settings& b);

}  // namespace rookery::camera
