// What other dropouts of the same camera tell of one: a fault recurs. Pure.
#pragma once

#include <optional>
#include <span>

#include "base/time.h"
#include "camera/cause_kind.h"
#include "camera/dropout.h"

namespace rookery::camera {

// What is remembered of another dropout of the same camera.
struct PastDropout {
  base::WallTime began{};
  bool restarted = false;
  double streamed_for_s = 0;              // the connection that dropped
  std::optional<double> uptime_before_s;  // the board's own clock when it stopped
  std::optional<double> booted_after_s;   // the gap began
  KindShares own{};                       // Ranking::own; zeros: not known
};

// What the restarts of a camera have in common.
struct RestartPattern {
  int restarts = 0;          // within 7 days, this one too
  int fresh = 0;             // of those: within 10 s after a stream began
  double uptime_s = 0;       // how long it had run; 0: not known
  int others_uptimes = 0;    // of others within 30 days, over 10 min each
  int same_uptimes = 0;      // of those: within 15 % of this one's
  int same_time_of_day = 0;  // others within 5 min of this one's time of day, on other days
};

// This restart came after the same time as many others.
bool is_even(const RestartPattern& pattern);
// others: those that lie within the time are used, whether before or after.
RestartPattern find_pattern(const Evidence& evidence, base::WallTime began,
                            std::span<const PastDropout> others);

// What the dropouts of a camera within 7 days of one look like, that one left out. Each by its own clues
// alone, so that no guess feeds itself.
struct Habit {
  int dropouts = 0;
  std::array<int, kCauses> like{};  // by Cause: how many look more like it than like all else together
  KindShares shares{};              // the mean of their own; zeros when there are none
};
Habit find_habit(base::WallTime began, std::span<const PastDropout> others);
// base: what is expected of a camera that nothing is known of. Returns what is expected of this one.
KindShares expect(const KindShares& base, const Habit& habit);

}  // namespace rookery::camera
