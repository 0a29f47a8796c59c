// Which events make notices, and why others do not.
#include "notices/rule.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <stdlib.h>

#include <ctime>

namespace rookery::notices {
namespace {

using namespace std::chrono_literals;
using Cause = archive::Event::Cause;

base::WallTime at(const char* text) { return base::parse_rfc3339(text).value(); }
base::CameraName named(const char* text) { return base::CameraName::parse(text).value(); }

archive::Event event(Cause cause = Cause::motion, double peak = 0.05) {
  archive::Event made(named("back-door"));
  made.id = 1;
  made.cause = cause;
  made.peak = peak;
  return made;
}

const base::WallTime kNow = at("2026-03-04T22:30:00Z");
constexpr LocalMoment kWednesdayEvening{2, 22 * 60 + 30};

Verdict verdict(const Rule& rule, const archive::Event& of = event(), std::optional<base::WallTime> last = {},
                std::optional<base::WallTime> all_snoozed = {}) {
  return judge(rule, of, kNow, kWednesdayEvening, last, all_snoozed);
}

// The time zone for one test.
class Zone {
 public:
  explicit Zone(const char* name) {
    if (const char* before = ::getenv("TZ")) before_ = before;
    ::setenv("TZ", name, 1);
    ::tzset();
  }
  ~Zone() {
    before_ ? ::setenv("TZ", before_->c_str(), 1) : ::unsetenv("TZ");
    ::tzset();
  }

 private:
  std::optional<std::string> before_;
};

TEST(Rule, AsItIsMadeItSendsMotionAndViewsOfAllCameras) {
  const Rule rule;
  EXPECT_EQ(verdict(rule), Verdict::send);
  EXPECT_EQ(verdict(rule, event(Cause::view)), Verdict::send);
  EXPECT_EQ(verdict(rule, event(Cause::lighting)), Verdict::cause);
}

TEST(Rule, EachPartCanSayNo) {
  Rule rule;
  rule.enabled = false;
  EXPECT_EQ(verdict(rule), Verdict::off);
  rule = {};
  rule.cameras = {named("front-counter")};
  EXPECT_EQ(verdict(rule), Verdict::camera);
  rule.cameras->push_back(named("back-door"));
  EXPECT_EQ(verdict(rule), Verdict::send);
  rule = {};
  rule.least_peak = 0.06;
  EXPECT_EQ(verdict(rule), Verdict::weak);
  rule.least_peak = 0.05;
  EXPECT_EQ(verdict(rule), Verdict::send);
  rule = {};
  rule.hours = {Hours::kEveryDay, 8 * 60, 18 * 60};
  EXPECT_EQ(verdict(rule), Verdict::hours);
  rule = {};
  rule.snoozed_until = kNow + 1s;
  EXPECT_EQ(verdict(rule), Verdict::snoozed);
  rule.snoozed_until = kNow;
  EXPECT_EQ(verdict(rule), Verdict::send);
  EXPECT_EQ(verdict(rule, event(), {}, kNow + 1s), Verdict::snoozed);
}

TEST(Rule, QuietTimeCountsFromTheLastNotice) {
  Rule rule;
  rule.quiet = 5min;
  EXPECT_EQ(verdict(rule, event(), kNow - 4min), Verdict::quiet);
  EXPECT_EQ(verdict(rule, event(), kNow - 5min), Verdict::send);
  // The clock was set back since.
  EXPECT_EQ(verdict(rule, event(), kNow + 1h), Verdict::send);
  rule.quiet = 0s;
  EXPECT_EQ(verdict(rule, event(), kNow), Verdict::send);
}

TEST(Hours, ASpanOverMidnightBelongsToTheDayOnWhichItBegan) {
  const Hours night{0b0010000, 22 * 60, 6 * 60};  // Friday
  EXPECT_TRUE(holds(night, {4, 22 * 60}));
  EXPECT_TRUE(holds(night, {5, 0}));
  EXPECT_TRUE(holds(night, {5, 6 * 60 - 1}));
  EXPECT_FALSE(holds(night, {5, 6 * 60}));
  EXPECT_FALSE(holds(night, {4, 5 * 60}));
  EXPECT_FALSE(holds(night, {5, 23 * 60}));
  const Hours sunday{0b1000000, 22 * 60, 6 * 60};
  EXPECT_TRUE(holds(sunday, {0, 3 * 60}));
}

TEST(Hours, LocalTimeFollowsTheSummer) {
  const Zone zone("Europe/Berlin");
  EXPECT_EQ(local_moment(at("2026-03-29T00:59:00Z")), (LocalMoment{6, 119}));
  EXPECT_EQ(local_moment(at("2026-03-29T01:00:00Z")), (LocalMoment{6, 180}));
  // 02:30 comes twice in October; both are within a span around it.
  const Hours around{Hours::kEveryDay, 120, 180};
  EXPECT_TRUE(holds(around, local_moment(at("2026-10-25T00:30:00Z"))));
  EXPECT_TRUE(holds(around, local_moment(at("2026-10-25T01:30:00Z"))));
  EXPECT_FALSE(holds(around, local_moment(at("2026-10-25T02:30:00Z"))));
}

TEST(Hours, ADayOfTheWeekIsThatOfTheZone) {
  const Zone zone("Pacific/Auckland");
  EXPECT_EQ(local_moment(at("2026-03-01T12:00:00Z")).weekday, 0);  // Monday, one in the morning
}

// Law: a span and the one from its end to its beginning, on every day, share no minute and leave none out.
RC_GTEST_PROP(HoursLaw, ASpanAndItsRestAreTheWeek, ()) {
  const int from = *rc::gen::inRange(0, 1440);
  const int until = *rc::gen::suchThat(rc::gen::inRange(0, 1440), [from](int one) { return one != from; });
  const Hours span{Hours::kEveryDay, from, until == 0 ? 1440 : until};
  const Hours rest{Hours::kEveryDay, until, from == 0 ? 1440 : from};
  const LocalMoment moment{*rc::gen::inRange(0, 7), *rc::gen::inRange(0, 1440)};
  RC_ASSERT(holds(span, moment) != holds(rest, moment));
}

TEST(Rule, WhatCannotBeMeantIsRefused) {
  Rule good;
  good.name = "nights";
  EXPECT_TRUE(check(good));
  const auto refused = [&](auto change) {
    Rule rule = good;
    change(rule);
    return !check(rule).has_value();
  };
  EXPECT_TRUE(refused([](Rule& rule) { rule.name.clear(); }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.name.assign(65, 'x'); }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.causes.clear(); }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.least_peak = 1.1; }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.least_peak = std::nan(""); }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.hours.days = 0; }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.hours.days = 0x80; }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.hours = {0x7f, 1440, 1440}; }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.hours = {0x7f, 60, 60}; }));
  EXPECT_TRUE(refused([](Rule& rule) { rule.quiet = -1s; }));
}

}  // namespace
}  // namespace rookery::notices
