// StripSteps: turns how much moves before one camera, and how it does, into its strip, a step every 10 s.
#pragma once

#include <optional>

#include "archive/strip_store.h"
#include "base/time.h"
#include "camera/settings.h"
#include "camera/status.h"

namespace rookery::station {

// A step under way, and what it came to.
struct StripMark {
  base::WallTime at;  // start of the step, a multiple of 10 s
  archive::StripStep step;
};

// strand-bound. Pure: all is given.
class StripSteps {
 public:
  // To be called a few times a second. energy: of the frame that came since the last call; nothing when none
  // did. Returns the step that ended, if one did.
  std::optional<StripMark> look(std::optional<std::uint8_t> energy, const camera::Status& status,
                                camera::Source source, base::WallTime now);

 private:
  struct Step {
    base::WallTime at{};
    std::uint8_t energy = 0;
    bool saw_frame = false;
    bool saw_trouble = false;  // rejected frames, a dropout, silence
    bool saw_silence = false;  // of these: the state said that the board does not send what it should
    bool was_on = false;       // not switched off all the time
  };
  archive::Health health_of(const Step& step, camera::Source source) const;

  std::uint64_t rejected_ = 0;
  std::uint64_t dropouts_ = 0;
  std::optional<Step> step_;
};

}  // namespace rookery::station
