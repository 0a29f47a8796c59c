// RFC 3339 text and back.
#include "base/time.h"

#include <gtest/gtest.h>

namespace rookery::base {
namespace {

TEST(Rfc3339, ReadsTheExamplesOfTheRfc) {
  // RFC 3339 section 5.8, the pairs that it calls equal.
  EXPECT_EQ(parse_rfc3339("1996-12-19T16:39:57-08:00").value(),
            parse_rfc3339("1996-12-20T00:39:57Z").value());
  EXPECT_EQ(to_rfc3339(parse_rfc3339("1985-04-12T23:20:50.52Z").value()), "1985-04-12T23:20:50.520Z");
  EXPECT_TRUE(parse_rfc3339("1990-12-31T23:59:60Z").has_value());
  EXPECT_TRUE(parse_rfc3339("1937-01-01T12:00:27.87+00:20").has_value());
}

TEST(Rfc3339, RoundTripsToTheMillisecond) {
  for (std::int64_t ms : {0LL, 1LL, 951'782'400'123LL, 4'102'444'799'999LL}) {
    const WallTime time{std::chrono::milliseconds{ms}};
    EXPECT_EQ(parse_rfc3339(to_rfc3339(time)).value(), time);
  }
}

TEST(Rfc3339, RefusesWhatIsNoTime) {
  for (const char* text :
       {"", "yesterday", "2026-02-30T00:00:00Z", "2026-01-01T24:00:00Z", "2026-01-01T00:00:00",
        "2026-01-01T00:00:00Zx", "2026-01-01T00:00:00.Z", "2026-01-01T00:00:00+25:00"}) {
    EXPECT_FALSE(parse_rfc3339(text).has_value()) << text;
  }
}

}  // namespace
}  // namespace rookery::base
