// When a notice is tried again.
#include "notices/retry.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::notices {
namespace {

using namespace std::chrono_literals;

TEST(Retry, WaitsTwiceAsLongEachTimeUpToTheMost) {
  const RetryLimits limits;
  EXPECT_EQ(wait_after(1, 0.5, limits), 5s);
  EXPECT_EQ(wait_after(2, 0.5, limits), 10s);
  EXPECT_EQ(wait_after(5, 0.5, limits), 80s);
  EXPECT_EQ(wait_after(30, 0.5, limits), 30min);
  EXPECT_EQ(wait_after(4'000'000'000U, 0.5, limits), 30min);
  EXPECT_EQ(wait_after(1, 0, limits), 4s);
  EXPECT_EQ(wait_after(1, 1, limits), 6s);
}

TEST(Retry, GivesUpAfterADay) {
  const RetryLimits limits;
  const base::WallTime made = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
  EXPECT_FALSE(is_too_old(made, made + 24h - 1us, limits));
  EXPECT_TRUE(is_too_old(made, made + 24h, limits));
  EXPECT_FALSE(is_too_old(made, made - 1h, limits));
}

RC_GTEST_PROP(RetryLaw, NeverSoonerThanTheFirstNorLaterThanTheMost, ()) {
  const RetryLimits limits;
  const auto wait = wait_after(*rc::gen::inRange(1U, 100U), *rc::gen::inRange(0, 101) / 100.0, limits);
  RC_ASSERT(wait >= limits.first * 8 / 10);
  RC_ASSERT(wait <= limits.most * 12 / 10);
}

}  // namespace
}  // namespace rookery::notices
