// When a notice that could not be delivered is tried again, and when it is given up.
#pragma once

#include <chrono>

#include "base/time.h"

namespace rookery::notices {

// A wish to pause is not delivered later than that.
inline constexpr std::chrono::seconds kPauseWithin{120};

struct RetryLimits {
  std::chrono::milliseconds first{5'000};     // after the first try; twice as long after each further one
  std::chrono::milliseconds most{1'800'000};  // between two tries
  std::chrono::hours give_up_after{24};       // since it was made
};

// After `tries` (1 and more) in a row that failed. share: 0 to 1, random, so that many stations do not try as
// one; the wait is 0.8 to 1.2 times the one above. Pure.
std::chrono::milliseconds wait_after(unsigned tries, double share, const RetryLimits& limits);

// Whether a notice made then is not tried any more now. One from the future was made before the clock was set
// back: it is young. Pure.
bool is_too_old(base::WallTime made, base::WallTime now, const RetryLimits& limits);

}  // namespace rookery::notices
