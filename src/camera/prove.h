// prove: the acceptance test of one board. Connects as the station would, measures for a while, and gives
// what it measured; acceptance.h judges it.
#pragma once

#include <functional>
#include <optional>
#include <string_view>

#include "camera/measurements.h"
#include "camera/profile.h"
#include "camera/pull.h"
#include "camera/settings.h"

namespace rookery::camera {

struct ProveOptions {
  Settings settings;               // what the station would pull; source stream or stills
  std::optional<Profile> profile;  // how the lamp is switched, and how long the sensor reads
  std::chrono::milliseconds duration{std::chrono::minutes(5)};
  bool lamp = false;   // the last quarter, 60 s at most, with the lamp on
  bool sizes = false;  // steps through the profile's sizes, and back to the board's own
  int stills = 5;      // asked for before the stream; 0: none
  std::chrono::milliseconds each_size{10'000};
  // A picture is looked at in full once in so long, or less often: it may take this share of one core.
  std::chrono::milliseconds look_least{1'000};
  double looks_of_core = 0.01;
  PullLimits limits;
  // Without any picture for so long the test is given up.
  std::chrono::milliseconds first_picture{20'000};
  // … and so long after the last one it ends early.
  std::chrono::milliseconds dead_after{60'000};
  // How long the second viewer waits for an answer, and how long the first one is watched after it.
  std::chrono::milliseconds second_viewer{4'000};
  std::chrono::milliseconds second_viewer_after{3'000};

  explicit ProveOptions(Settings settings_) : settings(std::move(settings_)) {}
};

// Called about ten times a second in the caller's thread: what is being done, and how far the whole is, 0–1.
// False ends the test in order.
using KeepGoing = std::function<bool(std::string_view stage, double share)>;

// Runs in the caller's thread and one of its own, until `duration` and some seconds for the stills and the
// second viewer are over. One stream is open at any time, but for the second viewer's at the very end, asked
// once. A lamp that was switched on is switched off again however the test ends, and a size that was changed
// is set back. Errors: when no picture ever came: why, as the pull says it (unreachable, refused, malformed,
// timed_out, no_permission, …); invalid_value for settings that cannot be; cancelled when a person ended it
// before the first picture.
base::Result<Measurements> prove(const ProveOptions& options, const base::Clock& clock,
                                 const KeepGoing& keep_going);

}  // namespace rookery::camera
