// How one camera is doing: its state, its counters, the last thing that went wrong.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "base/result.h"
#include "base/time.h"
#include "camera/frame.h"
#include "jpeg/walk.h"

namespace rookery::camera {

// The state a person sees; always told by a word, never by colour alone.
enum class State {
  off,         // disabled by a person
  connecting,  // name look-up, connect, first byte
  live,        // frames arrive
  silent,      // connected, but nothing for longer than expected
  waiting,     // backing off after a failure; `retry_at` says until when
  asleep,      // pushed source: no still yet, or none for long
};

std::string_view name_of(State state);

// What came from the board since the station started. Always: received = published + rejected_total().
struct Counters {
  std::uint64_t received = 0;  // frames whose end was seen or that were given up
  std::uint64_t published = 0;
  std::array<std::uint64_t, jpeg::kBrokenKinds> rejected{};  // by jpeg::BrokenKind
  std::uint64_t rejected_parts = 0;  // parts the multipart reader gave up (too large, no header end)
  std::uint64_t bytes = 0;           // of published frames
  std::uint64_t connects = 0;        // connections that were established
  std::uint64_t lost = 0;            // times that `live` ended without a person's doing
  std::uint64_t dropouts = 0;        // times that pictures stayed away (gap_recorder.h)

  std::uint64_t rejected_total() const;
};

// immutable snapshot.
struct Status {
  State state = State::off;
  base::WallTime since{};  // when this state began
  std::optional<base::WallTime> retry_at;
  std::optional<base::Error>
      last_error;  // the last dropout or failed connect; while pictures come broken, why
  std::optional<base::WallTime> last_frame_at;
  double frames_per_s = 0;            // over the last 5 s
  double bytes_per_s = 0;             // over the last 5 s
  std::chrono::nanoseconds jitter{};  // as ArrivalSpan
  PixelSize size;                     // of the last frame
  bool polling =
      false;  // pictures are asked for one by one: by its source, or as its stream address gives one still
  Counters counters;
};

}  // namespace rookery::camera
