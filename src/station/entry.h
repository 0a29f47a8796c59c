// Entry: one camera while the station runs.
#pragma once

#include <atomic>
#include <functional>
#include <memory>

#include "camera/board_register.h"
#include "camera/pull.h"
#include "camera/settings.h"
#include "camera/vitals.h"
#include "station/event_recording.h"
#include "station/watch.h"

namespace rookery::station {

// any-thread, as far as its members are.
struct Entry {
  camera::Settings settings;  // guarded by the camera set's mutex
  camera::Pull pull;
  EventRecording recording;
  std::unique_ptr<camera::Feed::Tap> tap;  // touched by one change of the set at a time
  Watch watch;
  camera::VitalsBook vitals;         // touched by VitalsTaking only
  std::atomic<bool> looking{false};  // a look is under way
  base::MonoTime state_saved{};      // touched by the look under way only
  bool pulling = false;              // touched by one change of the set at a time

  // What all cameras of a station have in common, and outlives them.
  struct Common {
    boost::asio::any_io_executor executor;
    camera::PullLimits limits;
    const base::Clock& clock;
    std::shared_ptr<camera::BoardRegister> boards;
    std::function<std::int64_t()> next_event_id;
  };
  Entry(const Common& common, camera::Settings settings_, std::uint64_t seed, EventRecording::Sink sink)
      : settings(settings_),
        pull(common.executor, settings_, common.limits, common.clock, seed, nullptr, common.boards),
        recording(std::move(sink)),
        watch(settings_.name, common.next_event_id),
        state_saved(common.clock.mono()) {}
};
using EntryPtr = std::shared_ptr<Entry>;

}  // namespace rookery::station
