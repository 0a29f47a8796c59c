// When pictures stop, what is kept of it, and when it is over.
#include "camera/gap_recorder.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;

class GapRecorderTest : public testing::Test {
 protected:
  base::MonoTime at(base::Microseconds time) const { return base::MonoTime(time); }
  base::WallTime wall(base::Microseconds time) const { return base::WallTime(1000h + time); }

  // A picture every 100 ms from `now` to `until`, looked at every second.
  void pictures(base::Microseconds until) {
    for (; now < until; now += 100ms) {
      PictureSeen seen;
      seen.at = at(now);
      seen.bytes = 30'000;
      seen.connection = connection;
      recorder.picture(seen);
      if (now % 1s == 0us) look();
    }
  }
  void silence(base::Microseconds until) {
    for (; now < until; now += 1s) look();
    now = until;
  }
  void look() {
    begun += recorder.look(at(now), wall(now)) ? 1 : 0;
    if (auto seen = recorder.take(at(now))) told.push_back(std::move(*seen));
  }

  GapRecorder recorder;
  base::Microseconds now = 1s;
  std::uint64_t connection = 1;
  int begun = 0;
  std::vector<DropoutSeen> told;
};

TEST_F(GapRecorderTest, SteadyPicturesAreNoDropout) {
  pictures(60s);
  EXPECT_EQ(begun, 0);
  EXPECT_EQ(recorder.dropouts(), 0u);
  EXPECT_TRUE(told.empty());
}

TEST_F(GapRecorderTest, ShortGapsAreNoDropout) {
  pictures(10s);
  silence(11'900ms);
  pictures(30s);
  EXPECT_TRUE(told.empty());
}

TEST_F(GapRecorderTest, AGapIsToldOnceWhenPicturesCameForLongEnough) {
  pictures(10s);
  silence(18s);
  EXPECT_EQ(begun, 1);
  EXPECT_TRUE(recorder.gap_since().has_value());
  pictures(22s);
  EXPECT_TRUE(told.empty()) << "the first pictures tell of a restart; they are waited for";
  pictures(40s);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_EQ(recorder.dropouts(), 1u) << "though no connection was lost";
  EXPECT_EQ(told[0].began, at(9'900ms));
  EXPECT_EQ(told[0].began_wall, wall(9'900ms));
  EXPECT_EQ(told[0].back, at(18s));
  EXPECT_EQ(told[0].before.size(), 64u);
  EXPECT_GE(told[0].after.size(), 12u);
}

TEST_F(GapRecorderTest, ALongOneHasAFirstWordAndALast) {
  pictures(10s);
  silence(200s);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_FALSE(told[0].back.has_value());
  EXPECT_GE(told[0].looked - told[0].began, 60s);
  pictures(220s);
  ASSERT_EQ(told.size(), 2u);
  EXPECT_EQ(told[1].number, told[0].number);
  EXPECT_TRUE(told[1].back.has_value());
}

TEST_F(GapRecorderTest, AnEndedConnectionBeginsADropoutHoweverSoonTheNextGivesPictures) {
  pictures(10s);
  recorder.ended({at(now), AttemptEnd::closed, 0, true});
  connection = 2;
  pictures(30s);
  ASSERT_EQ(told.size(), 1u);
  ASSERT_EQ(told[0].attempts.size(), 1u);
  EXPECT_EQ(told[0].attempts[0].how, AttemptEnd::closed);
}

TEST_F(GapRecorderTest, PicturesThatStopAgainBeforeItIsOverBelongToTheSame) {
  pictures(10s);
  silence(18s);
  pictures(20s);
  silence(28s);
  pictures(50s);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_EQ(told[0].back, at(28s));
}

TEST_F(GapRecorderTest, AGapThatNobodyLookedAtIsOneAsWell) {
  pictures(10'050ms);
  now = 18s;  // this station's own work stood still
  pictures(30s);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_GE(*told[0].back - told[0].began, 7s);
}

TEST_F(GapRecorderTest, BrokenPicturesOfLongAgoAreNotOfThisGap) {
  pictures(10s);
  recorder.broken(at(now));
  pictures(50s);
  recorder.broken(at(now));
  pictures(80s);
  recorder.broken(at(now));
  recorder.ended({at(now), AttemptEnd::cut, 0, true});
  pictures(100s);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_EQ(told[0].broken.size(), 2u);
  recorder.ended({at(now), AttemptEnd::cut, 0, true});
  pictures(200s);
  recorder.ended({at(now), AttemptEnd::cut, 0, true});
  pictures(220s);
  ASSERT_EQ(told.size(), 3u);
  EXPECT_TRUE(told[2].broken.empty());
}

TEST_F(GapRecorderTest, ACameraThatAPersonStoppedHasNoDropout) {
  pictures(10s);
  recorder.forget();
  silence(100s);
  EXPECT_TRUE(told.empty());
}

TEST_F(GapRecorderTest, ASlowCameraHasLongerGaps) {
  for (int n = 0; n < 20; ++n, now += 10s) {
    PictureSeen seen;
    seen.at = at(now);
    recorder.picture(seen);
    look();
  }
  silence(now + 35s);
  EXPECT_EQ(begun, 0) << "five intervals are 50 s";
  silence(now + 30s);
  EXPECT_EQ(begun, 1);
}

TEST_F(GapRecorderTest, TheFirstAndTheLastPictureAfterAGapAreHandedOutAndLetGo) {
  pictures(10s);
  silence(20s);
  std::vector<std::weak_ptr<const Frame>> frames;
  for (const base::Microseconds until = now + 6s; now < until && told.empty(); now += 100ms) {
    PictureSeen seen;
    seen.at = at(now);
    seen.connection = connection;
    auto frame = std::make_shared<const Frame>(std::vector<std::byte>(), wall(now), at(now), 1, PixelSize{});
    frames.push_back(frame);
    recorder.picture(seen, std::move(frame));
    if (now % 1s == 0us) look();
  }
  ASSERT_EQ(told.size(), 1U);
  const std::size_t last = told[0].after.size() - 1;
  EXPECT_EQ(told[0].first_after, frames.front().lock());
  EXPECT_EQ(told[0].last_after, frames.at(last).lock());
  for (std::size_t n = 1; n < last; ++n) EXPECT_TRUE(frames[n].expired()) << n;
  told.clear();
  for (const auto& frame : frames) EXPECT_TRUE(frame.expired());
}

}  // namespace
}  // namespace rookery::camera
