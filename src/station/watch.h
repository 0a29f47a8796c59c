// Watch: what one camera's pictures show: its strip, and when something happened.
#pragma once

#include <mutex>
#include <optional>
#include <vector>

#include "camera/frame.h"
#include "station/event_teller.h"
#include "station/strip_steps.h"
#include "vision/motion_watch.h"

namespace rookery::station {

// any-thread. Pure but for its memory: times, frames and ids are given.
class Watch {
 public:
  // A camera that was away for longer need not look as it did before.
  static constexpr base::Seconds kAway{10};

  // As EventTeller.
  Watch(base::CameraName name, std::function<std::int64_t()> next_id)
      : teller_(std::move(name), std::move(next_id)) {}

  void set(vision::Sensitivity sensitivity, vision::Mask mask);
  // What another one learned. Errors: those of vision::MotionDetector::restore; nothing has changed then.
  base::Result<void> restore(std::span<const std::byte> saved);
  std::vector<std::byte> save() const;

  // Whether it has not been looked at yet. Null has.
  bool is_new(const camera::FramePtr& frame) const;

  struct Now {
    const camera::Status& status;
    camera::Source source;
    base::WallTime wall;
    base::MonoTime mono;
  };
  // Between which frames something moves, or moved, by their arrival.
  struct Moving {
    base::MonoTime from;
    base::MonoTime until;
  };
  struct Seen {
    std::optional<StripMark> mark;  // the step of the strip that ended
    std::vector<EventChange> changes;
    std::optional<Moving> moving;
  };
  // To be called about five times a second. grid: of `frame`; null when it cannot be decoded. A frame that is
  // null or not new only lets time pass.
  Seen look(const camera::FramePtr& frame, const jpeg::LumaGrid* grid, const Now& now);
  // The camera, or the station, stops: what is under way ends, and looks that come later see nothing.
  std::vector<EventChange> finish();

  std::optional<archive::Event> under_way() const;
  // Mean of the last picture that could be decoded, grey levels 0 to 255. None before the first, and once it
  // is older than kAway.
  std::optional<double> light(base::MonoTime now) const;
  // So far: pictures that could be decoded, and events that have ended.
  std::uint64_t looked_at() const;
  std::uint64_t ended() const;

 private:
  std::uint8_t take(const camera::Frame& frame, const jpeg::LumaGrid& grid, const Now& now, Seen& seen);

  mutable std::mutex mutex_;
  vision::MotionWatch motion_;
  EventTeller teller_;
  StripSteps strip_;
  std::uint64_t seen_ = 0;  // number of the last frame looked at
  std::uint64_t looked_at_ = 0;
  bool finished_ = false;
  base::Microseconds last_at_{};
  base::WallTime last_wall_{};
  double light_ = 0;
};

}  // namespace rookery::station
