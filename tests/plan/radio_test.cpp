#include "plan/radio.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "plan/contention.h"
#include "plan/radio_load.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

double us(Seconds time) { return time.value() * 1e6; }
const HtRate& mcs(int index) { return ht_rates()[static_cast<std::size_t>(index)]; }

// One sender alone: DIFS, the mean back-off, then the exchange.
double alone_mbps(int together, const HtRate& rate) {
  const Seconds cycle = kDifs + kMeanBackoff + exchange_time(1500_B, together, rate, Guard::long_guard);
  return together * 1500 * 8 / us(cycle);
}

// Computed from the formulas (so they check the arithmetic): REFERENCE 8.
TEST(Radio, FramesTakeTheirTime) {
  EXPECT_NEAR(us(ht_frame_time(1554_B, mcs(7), Guard::long_guard)), 234, 1e-6);
  EXPECT_NEAR(us(ht_frame_time(1554_B, mcs(0), Guard::long_guard)), 1958, 1e-6);
  EXPECT_NEAR(us(ht_frame_time(8.0 * 1560_B, mcs(7), Guard::long_guard)), 1582, 1e-6);
  EXPECT_NEAR(us(legacy_frame_time(kAcknowledgement, 24)), 34, 1e-6);
  EXPECT_NEAR(us(legacy_frame_time(kAcknowledgement, 6)), 50, 1e-6);
  EXPECT_NEAR(us(legacy_frame_time(kBlockAcknowledgement, 24)), 38, 1e-6);
}

TEST(Radio, OneSenderAloneCarries) {
  EXPECT_NEAR(alone_mbps(1, mcs(7)), 32.13, 0.005);
  EXPECT_NEAR(alone_mbps(1, mcs(0)), 5.68, 0.005);
  EXPECT_NEAR(alone_mbps(8, mcs(7)), 55.64, 0.005);
}

TEST(Radio, TheShortGuardIsNeverSlowerAndEndsOnAWholeSymbol) {
  for (const HtRate& rate : ht_rates()) {
    const double with_short = us(ht_frame_time(1554_B, rate, Guard::short_guard));
    EXPECT_LT(with_short, us(ht_frame_time(1554_B, rate, Guard::long_guard)));
    EXPECT_NEAR(std::remainder(with_short - 42, 4), 0, 1e-6);
  }
}

TEST(Radio, TheSignalDecidesTheRate) {
  EXPECT_EQ(ht_rate_for({-64}).mcs, 7);
  EXPECT_EQ(ht_rate_for({-64.1}).mcs, 6);
  EXPECT_EQ(ht_rate_for({-82}).mcs, 0);
  EXPECT_EQ(ht_rate_for({-95}).mcs, 0);
}

TEST(Radio, ChannelsThatDoNotOverlapAre25MegahertzApart) {
  EXPECT_EQ(channel_middle(1), Hertz::from_value(2412e6));
  EXPECT_EQ(channel_middle(6) - channel_middle(1), Hertz::from_value(25e6));
  EXPECT_EQ(channel_middle(11) - channel_middle(6), Hertz::from_value(25e6));
}

TEST(Contention, OneSenderNeverCollidesAndDrawsHalfTheWindow) {
  const Contention alone = contention_of(1);
  EXPECT_EQ(alone.collision, 0);
  EXPECT_NEAR(alone.attempt, 2.0 / 17, 1e-12);
}

RC_GTEST_PROP(Contention, TheRootIsARoot, ()) {
  const int senders = *rc::gen::inRange(1, 301);
  const Contention at = contention_of(senders);
  RC_ASSERT(at.attempt > 0 && at.attempt < 1 && at.collision >= 0 && at.collision < 1);
  double sum = 0;
  for (int i = 0; i < kWindowDoublings; ++i) sum += std::pow(2 * at.collision, i);
  RC_ASSERT(std::abs(at.attempt * (1 + kLeastWindow + at.collision * kLeastWindow * sum) - 2) < 1e-9);
  RC_ASSERT(std::abs(at.collision - 1 + std::pow(1 - at.attempt, senders - 1)) < 1e-9);
}

RC_GTEST_PROP(Contention, MoreSendersCollideMoreAndCarryLess, ()) {
  const int senders = *rc::gen::inRange(2, 300);
  const Seconds success = Seconds::from_value(*rc::gen::inRange(200, 3000) * 1e-6);
  RC_ASSERT(contention_of(senders + 1).collision > contention_of(senders).collision);
  RC_ASSERT(contention_of(senders + 1).attempt < contention_of(senders).attempt);
  RC_ASSERT(exchanges_carried(senders + 1, success, success) < exchanges_carried(senders, success, success));
}

RadioLoad any_load() {
  RadioLoad load;
  load.picture = Bytes::from_value(*rc::gen::inRange(500, 300'000));
  load.rate = Hertz::from_value(*rc::gen::inRange(1, 300) / 10.0);
  const int usual = *rc::gen::inRange(0, 8);
  load.usual = mcs(usual);
  load.weak = mcs(*rc::gen::inRange(0, usual + 1));
  load.guard = *rc::gen::element(Guard::long_guard, Guard::short_guard);
  load.together = *rc::gen::inRange(1, 5);
  return load;
}

RC_GTEST_PROP(RadioLoad, AirtimeOfTheExchangesAddsUp, ()) {
  const RadioLoad load = any_load();
  const int usual = *rc::gen::inRange(0, 40);
  const int weak = *rc::gen::inRange(0, 40);
  const double together = channel_use(load, {usual, weak}).alone;
  RC_ASSERT(std::abs(channel_use(load, {usual, 0}).alone + channel_use(load, {0, weak}).alone - together) <
            1e-9 * (1 + together));
}

RC_GTEST_PROP(RadioLoad, EachCameraMoreTakesMore, ()) {
  const RadioLoad load = any_load();
  const int usual = *rc::gen::inRange(0, 60);
  const int weak = *rc::gen::inRange(0, 20);
  const double share = channel_use(load, {usual, weak}).share();
  RC_ASSERT(channel_use(load, {usual + 1, weak}).share() > share);
  RC_ASSERT(channel_use(load, {usual, weak + 1}).share() > share);
  RC_ASSERT(channel_use(load, {usual, weak + 1}).share() >=
            channel_use(load, {usual + 1, weak}).share() - 1e-12);
}

RC_GTEST_PROP(RadioLoad, WhatFitsFitsAndOneMoreDoesNot, ()) {
  const RadioLoad load = any_load();
  const int channels = *rc::gen::inRange(1, 4);
  const int weak = *rc::gen::inRange(0, 5);
  const double share = *rc::gen::inRange(5, 100) / 100.0;
  const int fit = cameras_that_fit(load, weak, channels, share);
  RC_ASSERT(fit == 0 || fullest_share(load, fit, weak, channels) <= share);
  RC_ASSERT(fit == kMostCameras || fullest_share(load, fit + 1, weak, channels) > share);
}

RC_GTEST_PROP(RadioLoad, DealingLosesNoCamera, ()) {
  const int cameras = *rc::gen::inRange(0, 301);
  const int weak = *rc::gen::inRange(0, cameras + 1);
  const int channels = *rc::gen::inRange(1, 4);
  int all = 0;
  int of_weak = 0;
  for (int i = 0; i < channels; ++i) {
    const ChannelCameras one = dealt(cameras, weak, channels, i);
    RC_ASSERT(one.usual >= 0 && one.weak >= 0);
    RC_ASSERT(one.all() <= dealt(cameras, weak, channels, 0).all());
    all += one.all();
    of_weak += one.weak;
  }
  RC_ASSERT(all == cameras && of_weak == weak);
}

base::Result<Planned> planned(std::vector<Given> more) {
  std::vector<Given> given = {{"picture", "30 kB"}, {"rate", "5 /s"}};
  given.insert(given.end(), more.begin(), more.end());
  return plan(*find_subject("radio"), given);
}

Answer answer(std::vector<Given> more) {
  auto out = planned(std::move(more));
  EXPECT_TRUE(out) << out.error().text();
  return out ? out->answer : Answer{};
}

TEST(Radio, TooManyCamerasFailAndAreToldWhatGivesMost) {
  const Answer few = answer({{"cameras", "3"}});
  EXPECT_EQ(few.verdict(), Verdict::holds) << few.headline;
  const Answer many = answer({{"cameras", "40"}});
  EXPECT_EQ(many.verdict(), Verdict::fails);
  EXPECT_EQ(many.nearest_limit()->key, "airtime");
  EXPECT_NE(many.nearest_limit()->remedy.find("Most is gained by"), std::string::npos);
  EXPECT_EQ(many.figure("fit").value, few.figure("fit").value);
}

RC_GTEST_PROP(Radio, AsManyCamerasAsItSaysFitWhenTypedBackIn, ()) {
  std::vector<Given> asked = {{"picture", std::to_string(*rc::gen::inRange(5, 200)) + " kB"},
                              {"rate", std::to_string(*rc::gen::inRange(1, 20)) + " /s"},
                              {"rssi", std::to_string(*rc::gen::inRange(-75, -45)) + " dBm"},
                              {"channels", std::to_string(*rc::gen::inRange(1, 4))},
                              {"cameras", "1"}};
  const auto first = plan(*find_subject("radio"), asked);
  RC_ASSERT(first.has_value());
  const double fit = first->answer.figure("fit").value;
  if (fit < 1 || fit >= 300) RC_DISCARD("none, or more than are counted");
  asked.back().text = show_value(fit, Kind::count);
  const auto second = plan(*find_subject("radio"), asked);
  RC_ASSERT(second.has_value());
  RC_ASSERT(second->answer.limit("airtime").verdict != Verdict::fails);
}

TEST(Radio, ThreeChannelsCarryAboutThreeTimesAsMany) {
  const double one = answer({{"cameras", "6"}}).figure("fit").value;
  const double three = answer({{"cameras", "6"}, {"channels", "3"}}).figure("fit").value;
  EXPECT_GE(three, 3 * one);
  EXPECT_LT(three, 3 * (one + 1));
}

TEST(Radio, AWeakCameraCostsTheOthersToo) {
  const Answer all_good = answer({{"cameras", "6"}});
  const Answer one_weak = answer({{"cameras", "6"}, {"rssi-worst", "-72 dBm"}});
  EXPECT_GT(one_weak.figure("share").value, all_good.figure("share").value * 1.2);
  EXPECT_LT(one_weak.figure("fit").value, all_good.figure("fit").value);
}

TEST(Radio, WallsAreTakenOffTheSignal) {
  const Answer behind = answer({{"cameras", "2"}, {"walls", "2"}, {"wall-loss", "6 dB"}});
  EXPECT_DOUBLE_EQ(behind.limit("signal").value, -72);
  EXPECT_EQ(behind.limit("signal").verdict, Verdict::tight);
  const Answer deep = answer({{"cameras", "2"}, {"walls", "4"}});
  EXPECT_EQ(deep.limit("signal").verdict, Verdict::fails);
}

TEST(Radio, WhatIsLeftBetweenLevelsIsInDecibels) {
  const auto out = planned({{"cameras", "2"}});
  ASSERT_TRUE(out);
  EXPECT_NE(to_text(out->answer, out->values).find("12.0 dB left"), std::string::npos);
  EXPECT_EQ(out->answer.limit("airtime").margin_kind(), Kind::ratio);
}

TEST(Radio, OneBoardIsHeldByItsRoundTripBeforeTheChannelIsFull) {
  const Answer slow = answer({{"cameras", "1"}, {"round-trip", "64 ms"}});
  EXPECT_EQ(slow.limit("board").verdict, Verdict::fails);
  EXPECT_NEAR(slow.limit("board").bound, 8 * 5744 / 0.064, 1);
  EXPECT_NE(slow.limit("board").remedy.find("sleep"), std::string::npos);
  // Four packets together at the best rate and no wait: then the chip maker's own number is the limit.
  const Answer fast =
      answer({{"cameras", "1"}, {"round-trip", "1 ms"}, {"together", "4"}, {"rssi", "-40 dBm"}});
  EXPECT_NEAR(fast.limit("board").bound, 20e6, 1);
}

TEST(Radio, WhatDoesNotGoTogetherIsRefused) {
  const auto refused = [](std::vector<Given> more) {
    const auto out = planned(std::move(more));
    return out ? std::string("answered") : out.error().where;
  };
  EXPECT_EQ(refused({{"cameras", "3"}, {"weak", "2"}}), "radio: weak");
  EXPECT_EQ(refused({{"cameras", "3"}, {"weak", "4"}, {"rssi-worst", "-70 dBm"}}), "radio: weak");
  EXPECT_EQ(refused({{"cameras", "3"}, {"rssi-worst", "-50 dBm"}}), "radio: rssi-worst");
  EXPECT_EQ(refused({{"cameras", "3"}, {"others", "80 %"}}), "radio: others");
  EXPECT_EQ(refused({{"cameras", "3"}, {"channels", "4"}}), "radio: channels");
}

}  // namespace
}  // namespace rookery::plan
