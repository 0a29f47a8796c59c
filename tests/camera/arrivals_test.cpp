// Intervals between pictures: the longest, the wait that is not over, and jitter as RFC 3550 smooths it.
#include "camera/arrivals.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;
using base::MonoTime;

const MonoTime kStart{1000s};

TEST(Arrivals, EvenPicturesHaveNoJitterAndTheirIntervalIsTheLongest) {
  Arrivals arrivals;
  for (int i = 0; i <= 50; ++i) arrivals.picture(kStart + i * 100ms);
  const ArrivalSpan span = arrivals.take(kStart + 5s);
  EXPECT_EQ(span.intervals, 50u);
  EXPECT_EQ(span.longest, 100ms);
  EXPECT_EQ(span.jitter, 0ns);
}

// RFC 3550 §6.4.1: J += (|D| - J) / 16. Intervals of 100 and 120 ms in turn differ by 20 ms each time.
TEST(Arrivals, JitterFollowsTheDifferenceOfIntervalsBySixteenths) {
  Arrivals arrivals;
  arrivals.picture(kStart);
  arrivals.picture(kStart + 100ms);
  arrivals.picture(kStart + 220ms);
  EXPECT_EQ(arrivals.take(kStart + 220ms).jitter, 1'250us);
  arrivals.picture(kStart + 320ms);
  EXPECT_EQ(arrivals.take(kStart + 320ms).jitter, 2'421'875ns);
  MonoTime at = kStart + 320ms;
  for (int i = 0; i < 200; ++i) arrivals.picture(at += (i % 2 == 0 ? 120ms : 100ms));
  EXPECT_NEAR(static_cast<double>(arrivals.take(at).jitter.count()), 20e6, 1e4);
}

TEST(Arrivals, AWaitThatIsNotOverCountsAndGoesOnInTheNextSpan) {
  Arrivals arrivals;
  arrivals.picture(kStart);
  EXPECT_EQ(arrivals.take(kStart + 4s).longest, 4s);
  EXPECT_EQ(arrivals.take(kStart + 14s).longest, 14s);
  arrivals.picture(kStart + 15s);
  const ArrivalSpan span = arrivals.take(kStart + 15s);
  EXPECT_EQ(span.longest, 15s);
  EXPECT_EQ(span.intervals, 1u);
}

TEST(Arrivals, NoIntervalLiesOverAPause) {
  Arrivals arrivals;
  arrivals.picture(kStart);
  arrivals.pause();
  EXPECT_EQ(arrivals.take(kStart + 1h).longest, 0s);
  arrivals.picture(kStart + 1h);
  EXPECT_EQ(arrivals.take(kStart + 1h + 1s).longest, 1s);
}

}  // namespace
}  // namespace rookery::camera
