#include "camera/arrivals.h"

#include <algorithm>
#include <cmath>

namespace rookery::camera {

using std::chrono::nanoseconds;

void Arrivals::picture(base::MonoTime at) {
  if (last_) {
    const nanoseconds interval = at - *last_;
    ++span_.intervals;
    span_.longest = std::max(span_.longest, interval);
    if (last_interval_) {
      const double difference = std::abs(static_cast<double>((interval - *last_interval_).count()));
      jitter_ns_ += (difference - jitter_ns_) / 16;
    }
    last_interval_ = interval;
  }
  last_ = at;
}

void Arrivals::pause() {
  last_.reset();
  last_interval_.reset();
}

ArrivalSpan Arrivals::take(base::MonoTime now) {
  ArrivalSpan span = span_;
  span_ = {};
  if (last_) span.longest = std::max<nanoseconds>(span.longest, now - *last_);
  span.jitter = jitter();
  return span;
}

nanoseconds Arrivals::jitter() const { return nanoseconds{std::llround(jitter_ns_)}; }

}  // namespace rookery::camera
