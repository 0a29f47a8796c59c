#include "notices/retry.h"

#include <algorithm>

namespace rookery::notices {

std::chrono::milliseconds wait_after(unsigned tries, double share, const RetryLimits& limits) {
  auto wait = limits.first;
  for (unsigned i = 1; i < tries && wait < limits.most; ++i) wait *= 2;
  const double jitter = 0.8 + 0.4 * std::clamp(share, 0.0, 1.0);
  return std::chrono::milliseconds(
      static_cast<std::int64_t>(jitter * static_cast<double>(std::min(wait, limits.most).count())));
}

bool is_too_old(base::WallTime made, base::WallTime now, const RetryLimits& limits) {
  return now - made >= limits.give_up_after;
}

}  // namespace rookery::notices
