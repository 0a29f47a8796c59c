// Replay: the motion detector over pictures that are there already, as fast as they can be read: which events
// these settings would have made.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "archive/picture_source.h"
#include "vision/mask.h"
#include "vision/motion_watch.h"

namespace rookery::station {

struct ReplaySettings {
  // Pictures looked at, a second, 0.5 to 60: what comes more often is passed over by its times. As the
  // station's own.
  static constexpr double kUsualRate = 5;
  double rate = kUsualRate;
  vision::Sensitivity sensitivity;
  vision::Mask mask;
};

struct ReplayReport {
  std::uint64_t pictures = 0;   // in the source
  std::uint64_t looked_at = 0;  // of these
  std::uint64_t bad = 0;        // were to be looked at, but are damaged
  std::uint64_t earlier = 0;    // passed over because the clock was set back: their time was seen already
  std::uint64_t events = 0;
  base::Microseconds covered{0};  // time that the pictures span, without pauses longer than kPause
  std::string first_bad;          // when and why; empty without

  static constexpr base::Microseconds kPause{5'000'000};
};

// Which of a source's pictures are looked at, so that they come `rate` times a second. One that comes a
// little early is taken rather than the next one, late.
class Pace {
 public:
  explicit Pace(double rate) : step_(static_cast<std::int64_t>(1e6 / rate)) {}
  // `at` grows. Whether this one is taken.
  bool take(base::Microseconds at);

 private:
  base::Microseconds step_;
  std::optional<base::Microseconds> due_;
};

// Steps through `source` to its end. `on_event` gets each event when it is over, in that order, times counted
// as the source counts them. `go_on` is asked after every picture. Blocks. Errors: the source's; damaged (no
// picture could be decoded); cancelled.
base::Result<ReplayReport> replay(archive::PictureSource& source, const ReplaySettings& settings,
                                  const std::function<void(const vision::MotionEvent&)>& on_event,
                                  const std::function<bool()>& go_on);

}  // namespace rookery::station
