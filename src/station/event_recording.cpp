#include "station/event_recording.h"

#include <algorithm>

namespace rookery::station {

using camera::Record;

void EventRecording::set(Record record, std::chrono::milliseconds pre_roll, std::size_t most_bytes) {
  const std::lock_guard lock(mutex_);
  if (record != record_) {
    wanted_until_.reset();
    end_span();
  }
  record_ = record;
  if (record != Record::events) waiting_.clear();
  waiting_.set(pre_roll + kKnownWithin, most_bytes);
}

void EventRecording::take(const camera::FramePtr& frame) {
  const std::lock_guard lock(mutex_);
  if (record_ == Record::never) return;
  if (record_ == Record::always || (wanted_until_ && frame->arrived_mono <= *wanted_until_)) {
    record(frame);
    return;
  }
  end_span();
  waiting_.add(frame);
}

void EventRecording::want(base::MonoTime from, base::MonoTime until) {
  const std::lock_guard lock(mutex_);
  if (record_ != Record::events) return;
  if (!wanted_until_ || until > *wanted_until_) wanted_until_ = until;
  // What is older than a recorded frame can no longer be put before it.
  if (recorded_until_) from = std::max(from, *recorded_until_);
  for (const camera::FramePtr& frame : waiting_.take(from, *wanted_until_)) record(frame);
}

void EventRecording::record(const camera::FramePtr& frame) {
  recording_ = true;
  recorded_until_ = frame->arrived_mono;
  sink_.record(frame);
}

void EventRecording::finish() {
  const std::lock_guard lock(mutex_);
  wanted_until_.reset();
  waiting_.clear();
  end_span();
}

PreRollState EventRecording::state() const {
  const std::lock_guard lock(mutex_);
  return {waiting_.frames(), waiting_.bytes(), waiting_.most_bytes(), waiting_.covers()};
}

void EventRecording::end_span() {
  if (std::exchange(recording_, false)) sink_.finish();
}

}  // namespace rookery::station
