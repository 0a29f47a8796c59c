#include "web/limiter.h"

#include <gtest/gtest.h>

namespace rookery::web {
namespace {

using namespace std::chrono_literals;

const base::MonoTime kStart{std::chrono::hours{1}};

TEST(Limiter, LetsABurstThroughAndThenSaysExactlyHowLongToWait) {
  Limiter limiter(3, 6s);
  for (int i = 0; i < 3; ++i) EXPECT_EQ(limiter.take("a", kStart), 0ms);
  EXPECT_EQ(limiter.take("a", kStart), 6000ms);
  EXPECT_EQ(limiter.take("a", kStart + 2s), 4000ms);
  EXPECT_EQ(limiter.take("a", kStart + 5999ms), 1ms);
  EXPECT_EQ(limiter.take("a", kStart + 6000ms), 0ms);
  EXPECT_EQ(limiter.take("a", kStart + 6000ms), 6000ms);
}

TEST(Limiter, KeysDoNotShare) {
  Limiter limiter(1, 6s);
  EXPECT_EQ(limiter.take("a", kStart), 0ms);
  EXPECT_EQ(limiter.take("b", kStart), 0ms);
  EXPECT_GT(limiter.take("a", kStart), 0ms);
}

TEST(Limiter, AGoodTryCostsNothing) {
  Limiter limiter(2, 6s);
  for (int i = 0; i < 50; ++i) {
    ASSERT_EQ(limiter.take("a", kStart), 0ms);
    limiter.give_back("a", kStart);
  }
}

TEST(Limiter, NeverHoldsMoreThanTheBurst) {
  Limiter limiter(2, 1s);
  limiter.give_back("a", kStart);
  limiter.give_back("a", kStart + 1h);
  EXPECT_EQ(limiter.take("a", kStart + 2h), 0ms);
  EXPECT_EQ(limiter.take("a", kStart + 2h), 0ms);
  EXPECT_EQ(limiter.take("a", kStart + 2h), 1000ms);
}

TEST(Limiter, ManyKeysShareOneBucketRatherThanFillTheMemory) {
  Limiter limiter(1, 1h, 2);
  EXPECT_EQ(limiter.take("a", kStart), 0ms);
  EXPECT_EQ(limiter.take("b", kStart), 0ms);
  EXPECT_EQ(limiter.take("c", kStart), 0ms);  // takes the shared one's only place
  EXPECT_GT(limiter.take("d", kStart), 0ms);
  EXPECT_GT(limiter.take("a", kStart), 0ms);
  // Full again, the first two are forgotten and make room.
  EXPECT_EQ(limiter.take("e", kStart + 2h), 0ms);
}

TEST(Limiter, WhereStrangersMustNotHurtANewKeyNeverWaits) {
  Limiter limiter(1, 1h, 2, Crowd::evict);
  for (const char* key : {"a", "b", "c", "d", "e"}) EXPECT_EQ(limiter.take(key, kStart), 0ms) << key;
  EXPECT_GT(limiter.take("e", kStart), 0ms);
}

TEST(LimiterKey, CountsAnIpv6HouseholdAsOne) {
  EXPECT_EQ(limiter_key("192.0.2.7"), "192.0.2.7");
  EXPECT_EQ(limiter_key("2001:db8:1:2:3:4:5:6"), limiter_key("2001:db8:1:2:ffff::1"));
  EXPECT_NE(limiter_key("2001:db8:1:2::1"), limiter_key("2001:db8:1:3::1"));
  EXPECT_EQ(limiter_key("::ffff:192.0.2.7"), "192.0.2.7");
}

}  // namespace
}  // namespace rookery::web
