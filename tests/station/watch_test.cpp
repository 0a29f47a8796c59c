// One camera's pictures as strip, events and spans to record: what a look gives.
#include "station/watch.h"

#include <gtest/gtest.h>

#include "tests/support/crossing.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;

const base::WallTime kNoon = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
const base::MonoTime kNoonMono{100h};

class WatchTest : public testing::Test {
 protected:
  // One look, five a second, at the film in which something crosses from 12 s to 17 s.
  Watch::Seen look(double film_s, std::chrono::milliseconds at, bool can_be_seen = true) {
    const auto frame = std::make_shared<const camera::Frame>(
        test::crossing_at(film_s), kNoon + at, kNoonMono + at, ++number_,
        camera::PixelSize{test::kCrossingWidth_px, test::kCrossingHeight_px});
    jpeg::LumaGrid grid;
    EXPECT_TRUE(jpeg::compute_luma_grid(frame->view(), grid));
    return watch_.look(frame, can_be_seen ? &grid : nullptr,
                       {status_, camera::Source::stream, kNoon + at, kNoonMono + at});
  }
  // The film from `from_s` until `to_s`, at its own time; all that was seen.
  std::vector<Watch::Seen> play(double from_s, double to_s) {
    std::vector<Watch::Seen> seen;
    for (double at = from_s; at < to_s; at += 0.2)
      seen.push_back(look(at, std::chrono::milliseconds(static_cast<int>(at * 1000))));
    return seen;
  }
  static std::vector<EventChange> changes_of(const std::vector<Watch::Seen>& all) {
    std::vector<EventChange> changes;
    for (const auto& seen : all) changes.insert(changes.end(), seen.changes.begin(), seen.changes.end());
    return changes;
  }
  camera::Status status_;
  std::uint64_t number_ = 0;
  std::int64_t last_id_ = 0;
  Watch watch_{base::CameraName::parse("anvil").value(), [this] { return ++last_id_; }};
};

TEST_F(WatchTest, WhatCrossesBeginsAndEndsAndSaysWhatToRecord) {
  const auto seen = play(0, 25);
  const auto changes = changes_of(seen);
  ASSERT_GE(changes.size(), 2u);
  EXPECT_EQ(changes.front().what, EventChange::What::begun);
  EXPECT_EQ(changes.back().what, EventChange::What::ended);
  EXPECT_EQ(watch_.ended(), 1u);
  EXPECT_EQ(watch_.looked_at(), seen.size());
  std::optional<Watch::Moving> first;
  for (const auto& one : seen) {
    if (!one.moving) continue;
    if (!first) first = one.moving;
    EXPECT_EQ(one.moving->from, first->from);
    EXPECT_GE(one.moving->until, one.moving->from);
  }
  ASSERT_TRUE(first.has_value());
  EXPECT_NEAR(std::chrono::duration<double>(first->from - kNoonMono).count(), test::kCrossingFrom_s, 0.8);
}

TEST_F(WatchTest, AFrameThatCannotBeDecodedIsSeenAndMovesNothing) {
  play(0, 6);
  const auto before = watch_.looked_at();
  for (int i = 0; i < 20; ++i) EXPECT_TRUE(look(14, 6s + i * 200ms, false).changes.empty());
  EXPECT_EQ(watch_.looked_at(), before);
}

TEST_F(WatchTest, ACameraThatComesBackFromAPauseMayLookOtherwise) {
  play(0, 8);
  // Ten minutes later the block stands in the middle.
  for (int i = 0; i < 40; ++i) EXPECT_TRUE(look(14.5, 10min + i * 200ms).changes.empty()) << i;
}

TEST_F(WatchTest, AfterItsEndALateLookSeesNothing) {
  play(0, 14);
  const auto ended = watch_.finish();
  ASSERT_EQ(ended.size(), 1u);
  EXPECT_EQ(ended[0].what, EventChange::What::ended);
  EXPECT_TRUE(changes_of(play(14, 20)).empty());
  EXPECT_TRUE(watch_.finish().empty());
}

TEST_F(WatchTest, WhatOneLearnedAnotherGoesOnWith) {
  play(0, 10);
  const auto saved = watch_.save();
  Watch next(base::CameraName::parse("anvil").value(), [this] { return ++last_id_; });
  ASSERT_TRUE(next.restore(saved));
  EXPECT_FALSE(next.restore(std::vector<std::byte>(7)));
  EXPECT_EQ(next.save().size(), saved.size());
}

}  // namespace
}  // namespace rookery::station
