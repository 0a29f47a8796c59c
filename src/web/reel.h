// Reel: what a player sees of a recording, and what to show of it at a moment.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "archive/playback.h"
#include "archive/segment_store.h"

namespace rookery::web {

// A cursor over one camera's recording; the calls of archive::Playback. One user at a time, blocks: belongs
// on a worker. Tests put a list of times in its place.
class Reel {
 public:
  using Frame = base::Result<std::optional<archive::RecordedFrame>>;
  using Time = base::Result<std::optional<base::WallTime>>;

  virtual ~Reel() = default;
  virtual Frame seek(base::WallTime at) = 0;
  virtual Frame next() = 0;
  virtual Frame previous() = 0;
  virtual Time peek_next() = 0;
  virtual Time peek_previous() = 0;
  // Spans of recording in [from, to], joined over gaps of up to kGap, in order.
  virtual base::Result<std::vector<archive::Span>> spans(base::WallTime from, base::WallTime to) = 0;
};

// Longer than this without a frame is a gap: the same as in the API's "recordings".
inline constexpr base::Milliseconds kGap{2000};

// The reel of a camera's recording in `catalog`, which outlives it.
std::unique_ptr<Reel> recorded_reel(archive::Catalog& catalog, base::CameraName camera);

// Which picture is due when: recording time runs from `from` at `speed` since `since`.
struct PlayClock {
  base::WallTime from;
  base::MonoTime since;
  double speed = 1;  // negative: backward; never 0

  base::WallTime target(base::MonoTime now) const;
  // When `at` is due, from `now` on; zero when it is already.
  base::Microseconds due_in(base::WallTime at, base::MonoTime now) const;
};

// What a player does next.
struct Look {
  enum What { show, wait, gap, end, failed } what = end;
  std::optional<archive::RecordedFrame> frame;  // show
  base::WallTime until;                         // wait: this frame is next; gap: it goes on there
  std::optional<base::Error> error;             // failed
};

// With `current` shown (the reel stands there) and `target` due: the newest frame that is due, never across a
// gap; wait when none is due yet. `speed` gives the direction. At high speeds frames between are not read.
Look look(Reel& reel, base::WallTime current, base::WallTime target, double speed);

}  // namespace rookery::web
