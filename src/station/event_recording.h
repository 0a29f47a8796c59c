// EventRecording: which of one camera's frames are recorded: all, those around events, or none.
#pragma once

#include <chrono>
#include <functional>
#include <mutex>
#include <optional>

#include "camera/pre_roll.h"
#include "camera/settings.h"

namespace rookery::station {

// What is held in memory for the time before an event.
struct PreRollState {
  std::size_t frames = 0;
  std::size_t bytes = 0;
  std::size_t most_bytes = 0;
  std::chrono::milliseconds covers{0};
};

// any-thread. With Record::events, frames wait in a camera::PreRoll until somebody wants a span of time:
// those of the span are recorded then, and those that follow as they come. Spans that overlap are one; none
// of their frames is recorded twice.
class EventRecording {
 public:
  // An event is known to have begun only some time after it did: so much is held beyond the pre-roll.
  static constexpr std::chrono::milliseconds kKnownWithin{4'000};

  // Where recorded frames go, in order and one at a time, and what is called when a span has ended. Both
  // return at once and do not call back.
  struct Sink {
    std::function<void(const camera::FramePtr&)> record;
    std::function<void()> finish;
  };
  explicit EventRecording(Sink sink) : sink_(std::move(sink)) {}

  // most_bytes: that may wait in memory.
  void set(camera::Record record, std::chrono::milliseconds pre_roll, std::size_t most_bytes);
  // Each frame of the camera, in order.
  void take(const camera::FramePtr& frame);
  // What arrived, and will arrive, from `from` until `until` is to be recorded. May come too late for its
  // beginning; then what there still is of it is recorded.
  void want(base::MonoTime from, base::MonoTime until);
  // No frames may come any more: whatever is being recorded ends, what waits is given up.
  void finish();

  PreRollState state() const;

 private:
  void record(const camera::FramePtr& frame);
  void end_span();

  const Sink sink_;
  mutable std::mutex mutex_;
  camera::Record record_ = camera::Record::never;
  camera::PreRoll waiting_;
  std::optional<base::MonoTime> wanted_until_;
  std::optional<base::MonoTime> recorded_until_;
  bool recording_ = false;  // the sink has had frames since it was last told to finish
};

}  // namespace rookery::station
