#include "plan/safe_side.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace rookery::plan {
namespace {

TEST(SafeSide, RoundsInward) {
  EXPECT_EQ(show_value(shown_at_most(5.3398, Kind::voltage), Kind::voltage), "5.33 V");
  EXPECT_EQ(show_value(shown_at_least(5.0712, Kind::voltage), Kind::voltage), "5.08 V");
  EXPECT_EQ(show_value(shown_at_most(1.0004, Kind::length), Kind::length), "1.00 m");
  EXPECT_EQ(show_value(shown_at_most(0.99999, Kind::length), Kind::length), "999 mm");
  EXPECT_EQ(show_value(shown_at_least(956.1e9, Kind::bytes), Kind::bytes), "957 GB");
  EXPECT_EQ(show_value(shown_at_most(16.349e12, Kind::bytes), Kind::bytes), "16.3 TB");
  EXPECT_EQ(show_value(shown_at_most(3.7, Kind::count), Kind::count), "3");
}

// What is read off and typed back lies on the safe side, and not far from the bound.
RC_GTEST_PROP(SafeSide, WhatIsReadOffLiesOnTheSafeSide, ()) {
  const Kind kind = *rc::gen::element(Kind::voltage, Kind::length, Kind::current, Kind::charge, Kind::bytes,
                                      Kind::duration, Kind::rate, Kind::capacitance);
  const int digits = *rc::gen::inRange(2, 6);
  const double scale = kind == Kind::capacitance ? 1e-6 : kind == Kind::bytes ? 1e6 : 1;
  const double bound =
      scale * std::pow(10.0, *rc::gen::inRange(-1, 4)) * (*rc::gen::inRange(1'000'000, 9'999'999) * 1e-6);
  const auto typed = [&](double value) {
    return read_value(show_value(value, kind, digits), kind, "bound").value();
  };
  const double most = shown_at_most(bound, kind, digits);
  const double least = shown_at_least(bound, kind, digits);
  RC_ASSERT(typed(most) < bound);
  RC_ASSERT(typed(least) > bound);
  RC_ASSERT(most == typed(most) && least == typed(least));
  // Nine hours and 59.9 minutes are shown in hours: a step is a tenth there at most.
  const double step = std::pow(10.0, 1 - digits);
  RC_ASSERT(most > bound * (1 - 2.1 * step));
  RC_ASSERT(least < bound * (1 + 2.1 * step));
}

}  // namespace
}  // namespace rookery::plan
