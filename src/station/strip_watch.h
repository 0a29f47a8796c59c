// StripWatch: turns what one camera shows and how it does into its strip, a step every 10 s.
#pragma once

#include <mutex>
#include <optional>

#include "archive/strip_store.h"
#include "base/time.h"
#include "camera/frame.h"
#include "camera/settings.h"
#include "camera/status.h"
#include "vision/motion_energy.h"

namespace rookery::station {

// A step under way, and what it came to.
struct StripMark {
  base::WallTime at;  // start of the step, a multiple of 10 s
  archive::StripStep step;
};

// any-thread. Pure but for its memory: time and frames are given.
class StripWatch {
 public:
  // To be called about twice a second, on a worker thread: decodes the frame at 1/8 scale when it is a new
  // one (null and seen ones count as none). Returns the step that ended, if one did.
  std::optional<StripMark> look(const camera::FramePtr& frame, const camera::Status& status,
                                camera::Source source, base::WallTime now);

 private:
  struct Step {
    base::WallTime at{};
    std::uint8_t energy = 0;
    bool saw_frame = false;
    bool saw_trouble = false;  // rejected frames, a dropout, silence
    bool was_on = false;       // not switched off all the time
  };
  archive::Health health_of(const Step& step, camera::Source source) const;

  std::mutex mutex_;
  vision::MotionEnergy energy_;
  jpeg::LumaGrid grid_;
  std::uint64_t seen_ = 0;  // number of the last frame looked at
  std::uint64_t rejected_ = 0;
  std::uint64_t dropouts_ = 0;
  std::optional<Step> step_;
};

}  // namespace rookery::station
