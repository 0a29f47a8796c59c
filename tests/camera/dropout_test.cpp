// Clues are read from what was seen: clocks, ends of connections, answers, others, brightness.
#include "camera/dropout.h"

#include <gtest/gtest.h>

#include "tests/support/picture.h"

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;
using std::chrono::duration_cast;

base::MonoTime at(double s) {
  return base::MonoTime(duration_cast<base::MonoTime::duration>(std::chrono::duration<double>(s)));
}
base::Microseconds micros(double s) { return base::Microseconds(static_cast<std::int64_t>(s * 1e6)); }

// Ten pictures a second until 100 s; back after `gap_s`, with a clock that says `uptime` then.
DropoutSeen gap(double gap_s, double uptime_s, double first_luma = 110) {
  DropoutSeen seen;
  for (int n = 0; n < 60; ++n) {
    PictureSeen one;
    one.at = at(94.1 + n * 0.1);
    one.bytes = 30'000;
    one.stamp = micros(5000 + n * 0.1);
    one.connection = 1;
    seen.before.push_back(one);
  }
  seen.began = seen.before.back().at;
  seen.streaming_since = at(20);
  seen.back = seen.began + duration_cast<base::MonoTime::duration>(std::chrono::duration<double>(gap_s));
  for (int n = 0; n < 50; ++n) {
    PictureSeen one;
    one.at = *seen.back + n * 100ms;
    one.bytes = 30'000;
    one.stamp = micros(uptime_s + n * 0.1);
    one.luma = static_cast<float>(n < 10 ? first_luma : 110.0);
    one.connection = 1;
    seen.after.push_back(one);
  }
  seen.looked = *seen.back + 5s;
  return seen;
}

TEST(Dropout, AClockThatWentOnHasCountedTheGap) {
  const Evidence e = read_evidence(gap(8, 5005.9 + 8));
  EXPECT_EQ(e.restart, Restart::stamp_on);
  EXPECT_EQ(e.old_connection, OldConnection::went_on);
  EXPECT_NEAR(e.gap_s, 8, 0.01);
  EXPECT_NEAR(e.usual_interval_s, 0.1, 0.001);
}

TEST(Dropout, AClockThatFellIsARestart) {
  const Evidence e = read_evidence(gap(8, 6.5));
  EXPECT_EQ(e.restart, Restart::stamp_back);
  EXPECT_EQ(e.booted, Booted::at_once);
  EXPECT_NEAR(e.booted_after_s.value(), 1.5, 0.01);
}

TEST(Dropout, AClockThatMissesMostOfALongGapIsARestartThoughItIsGreater) {
  DropoutSeen seen = gap(300, 20);
  for (PictureSeen& picture : seen.before) *picture.stamp -= micros(4995);  // it had run for 10 s
  seen.attempts = {{at(110), AttemptEnd::silence, 0, true}};
  const Evidence e = read_evidence(seen);
  EXPECT_EQ(e.restart, Restart::stamp_back);
  EXPECT_EQ(e.booted, Booted::later);
}

TEST(Dropout, WithoutStampsNothingIsSaidOfTheClock) {
  DropoutSeen seen = gap(8, 6.5);
  for (PictureSeen& picture : seen.after) picture.stamp.reset();
  EXPECT_EQ(read_evidence(seen).restart, Restart::unknown);
}

TEST(Dropout, DarkFirstPicturesAreARamp) {
  EXPECT_EQ(read_evidence(gap(8, 6, 60)).exposure, Exposure::ramp);
  EXPECT_EQ(read_evidence(gap(8, 6, 108)).exposure, Exposure::settled);
}

TEST(Dropout, TheFirstEndIsTheOldConnectionsTheOthersAreOfNewOnes) {
  DropoutSeen seen = gap(40, 6);
  seen.attempts = {{at(107), AttemptEnd::reset, 0, true},
                   {at(109), AttemptEnd::no_answer, 0, false},
                   {at(113), AttemptEnd::refused, 0, false},
                   {at(118), AttemptEnd::refused, 0, false}};
  const Evidence e = read_evidence(seen);
  EXPECT_EQ(e.old_connection, OldConnection::reset);
  EXPECT_NEAR(e.ended_after_s, 7, 0.1);
  EXPECT_EQ(e.retries, Retries::refused);
  EXPECT_EQ(e.attempts_failed, 2);
}

struct AnswersCase {
  const char* what;
  std::vector<bool> answers;  // one every 5 s from 102 s on
  Reach reach;
};

TEST(Dropout, AnswersDuringTheGapAreReadInTheirOrder) {
  const AnswersCase cases[] = {
      {"never", {false, false, false}, Reach::never},
      {"came back", {false, false, true, true}, Reach::came_back},
      {"went away", {true, true, true, false, false}, Reach::went_away},
      {"patchy", {false, true, false, true, false}, Reach::patchy},
      {"answered, and no picture for long", {true, true, true}, Reach::answered_silent},
  };
  for (const AnswersCase& one : cases) {
    DropoutSeen seen = gap(30, 5035.9);
    double when = 102;
    for (const bool answered : one.answers) {
      seen.probes.push_back(
          {at(when), ProbeKind::connect, answered ? ProbeAnswer::answered : ProbeAnswer::nothing, 10ms});
      when += 5;
    }
    seen.probes.push_back({at(103), ProbeKind::echo, ProbeAnswer::not_allowed, 0ms});
    const Evidence e = read_evidence(seen);
    EXPECT_EQ(e.reach, one.reach) << one.what;
    EXPECT_EQ(e.echoes, 0) << "what is not allowed was not asked";
  }
}

ProbeSeen asked(double when, bool answered) {
  return {at(when), ProbeKind::connect, answered ? ProbeAnswer::answered : ProbeAnswer::nothing, 10ms};
}

TEST(Dropout, WhileABoardStartsItsSilenceTellsNothingOfWhy) {
  DropoutSeen seen = gap(12, 11.4);  // it started 0.6 s after its last picture
  seen.probes = {asked(102, false), asked(107, false)};
  seen.attempts = {{at(110), AttemptEnd::silence, 0, true}, {at(111), AttemptEnd::no_answer, 0, false}};
  const Evidence e = read_evidence(seen);
  EXPECT_EQ(e.booted, Booted::at_once);
  EXPECT_EQ(e.reach, Reach::unknown);
  EXPECT_EQ(e.retries, Retries::none_needed);
  EXPECT_EQ(e.connects, 2) << "what was asked is still told";
}

TEST(Dropout, ABoardThatAnsweredAndOnlyThenStartedHadNotLostItsPower) {
  DropoutSeen seen = gap(12, 8.4);  // it started 3.6 s after its last picture
  seen.probes = {asked(102, true), asked(107, false)};
  const Evidence e = read_evidence(seen);
  EXPECT_EQ(e.booted, Booted::answered);
  EXPECT_NEAR(e.booted_after_s.value(), 3.6, 0.1);
  seen.probes = {asked(102, false), asked(107, true)};
  EXPECT_EQ(read_evidence(seen).booted, Booted::at_once) << "it answered when it had started";
}

TEST(Dropout, AConnectionThatIsAcknowledgedToTheEndWasNotLostOnItsWay) {
  for (const auto& [heard, end] :
       {std::pair{107.0, OldConnection::kept_alive}, std::pair{102.0, OldConnection::given_up}}) {
    DropoutSeen seen = gap(40, 5045.9);
    seen.attempts = {{at(110), AttemptEnd::silence, 0, true}, {at(113), AttemptEnd::unheard, 0, false}};
    LinkSample sample;
    sample.at = at(109);
    sample.since_last_ack = micros(109 - heard);
    sample.connection = 1;
    seen.link.push_back(sample);
    EXPECT_EQ(read_evidence(seen).old_connection, end) << heard;
  }
}

TEST(Dropout, OthersThatStoppedWithItAreCounted) {
  DropoutSeen seen = gap(8, 5013.9);
  seen.others = {6, 5, 0, 0};
  EXPECT_EQ(read_evidence(seen).others, Others::most);
  seen.others = {6, 1, 0, 0};
  EXPECT_EQ(read_evidence(seen).others, Others::some);
  seen.others = {6, 0, 0, 0};
  EXPECT_EQ(read_evidence(seen).others, Others::alone);
  seen.others = {0, 0, 0, 0};
  EXPECT_EQ(read_evidence(seen).others, Others::unknown) << "nobody to compare with";
  seen.others = {6, 6, 3, 3};
  EXPECT_EQ(read_evidence(seen).others, Others::everywhere);
}

TEST(Dropout, PacketsOutOfOrderBeforeAreTrouble) {
  for (const auto& [out_of_order, link] :
       {std::pair{5U, LinkBefore::calm}, std::pair{48U, LinkBefore::troubled},
        std::pair{90U, LinkBefore::bad}}) {
    DropoutSeen seen = gap(8, 5013.9);
    for (int n = 0; n <= 12; ++n) {
      LinkSample sample;
      sample.at = at(88 + n);
      sample.round_trip = 8ms;
      sample.since_last_ack = 10ms;
      sample.segments = static_cast<std::uint32_t>(n * 100);
      sample.out_of_order = static_cast<std::uint32_t>(n) * out_of_order / 12;
      sample.connection = 1;
      seen.link.push_back(sample);
    }
    EXPECT_EQ(read_evidence(seen).link_before, link) << out_of_order;
  }
}

TEST(Dropout, OwnLatenessAndABurstAreTold) {
  DropoutSeen seen = gap(6, 5011.9);
  seen.late = {{at(105.9), 5s}};
  for (std::size_t n = 0; n < 40; ++n) seen.after[n].at = *seen.back + n * 1ms;
  const Evidence e = read_evidence(seen);
  EXPECT_EQ(e.own_reader, OwnReader::late);
  EXPECT_EQ(e.burst, Burst::burst);
  EXPECT_GE(e.burst_pictures, 40);
}

TEST(Dropout, NothingSeenGivesNothingKnown) {
  const Evidence e = read_evidence(DropoutSeen());
  EXPECT_EQ(e.restart, Restart::unknown);
  EXPECT_EQ(e.reach, Reach::unknown);
  EXPECT_EQ(e.old_connection, OldConnection::unknown);
}

FramePtr frame_of(std::vector<std::byte> jpeg) {
  return std::make_shared<const Frame>(std::move(jpeg), base::WallTime(), base::MonoTime(), 1,
                                       PixelSize{640, 480});
}

TEST(Dropout, BrightnessIsReadFromTheFirstAndTheLastPictureWhichAreThenLetGo) {
  DropoutSeen seen = gap(8, 6.5);
  for (PictureSeen& one : seen.after) one.luma.reset();
  EXPECT_EQ(read_evidence(seen).exposure, Exposure::settled) << "by their sizes alone";
  seen.first_after = frame_of(test::make_flat_picture(640, 480, 30));
  seen.last_after = frame_of(test::make_flat_picture(640, 480, 120));
  read_brightness(seen);
  EXPECT_EQ(seen.first_after, nullptr);
  EXPECT_EQ(seen.last_after, nullptr);
  const Evidence e = read_evidence(seen);
  EXPECT_EQ(e.exposure, Exposure::ramp);
  EXPECT_NEAR(e.luma_first, 30, 1);
  EXPECT_NEAR(e.luma_settled, 120, 1);
}

TEST(Dropout, APictureThatCannotBeDecodedHasNoBrightness) {
  DropoutSeen seen = gap(8, 6.5);
  for (PictureSeen& one : seen.after) one.luma.reset();
  seen.first_after = frame_of(std::vector<std::byte>(100));
  read_brightness(seen);
  EXPECT_FALSE(seen.after.front().luma.has_value());
  EXPECT_FALSE(seen.after.back().luma.has_value());
  read_brightness(seen);  // nothing left to read
}

}  // namespace
}  // namespace rookery::camera
