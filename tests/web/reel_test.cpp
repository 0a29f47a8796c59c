#include "web/reel.h"

#include <gtest/gtest.h>

#include "web/credits.h"

namespace rookery::web {
namespace {

using namespace std::chrono_literals;
using base::WallTime;

const WallTime kNoon = std::chrono::sys_days{std::chrono::year{2026} / 3 / 1} + 12h;

// A recording that is a list of times.
class ListReel final : public Reel {
 public:
  explicit ListReel(std::vector<WallTime> times) : times_(std::move(times)) {}
  Frame seek(WallTime at) override {
    if (times_.empty()) return std::optional<archive::RecordedFrame>{};
    auto after = std::upper_bound(times_.begin(), times_.end(), at);
    place_ = after == times_.begin() ? 0 : after - times_.begin() - 1;
    return here();
  }
  Frame next() override { return move(1); }
  Frame previous() override { return move(-1); }
  Time peek_next() override { return peek(1); }
  Time peek_previous() override { return peek(-1); }
  base::Result<std::vector<archive::Span>> spans(WallTime from, WallTime to) override {
    std::vector<archive::Span> out;
    for (const WallTime time : times_) {
      if (time < from || time > to) continue;
      if (!out.empty() && time - out.back().to <= kGap) {
        out.back().to = time;
      } else {
        out.push_back({time, time});
      }
    }
    return out;
  }
  int read = 0;  // frames whose bytes were read

 private:
  Frame here() {
    ++read;
    return std::optional(archive::RecordedFrame{times_[static_cast<std::size_t>(place_)], {}});
  }
  bool has(std::ptrdiff_t by) const {
    return place_ + by >= 0 && place_ + by < static_cast<std::ptrdiff_t>(times_.size());
  }
  Frame move(std::ptrdiff_t by) {
    if (!has(by)) return std::optional<archive::RecordedFrame>{};
    place_ += by;
    return here();
  }
  Time peek(std::ptrdiff_t by) {
    if (!has(by)) return std::optional<WallTime>{};
    return std::optional(times_[static_cast<std::size_t>(place_ + by)]);
  }
  std::vector<WallTime> times_;
  std::ptrdiff_t place_ = 0;
};

// 10 frames a second for `length` from each start.
std::vector<WallTime> recording(std::initializer_list<std::chrono::milliseconds> starts,
                                std::chrono::milliseconds length) {
  std::vector<WallTime> times;
  for (const auto start : starts) {
    for (auto at = 0ms; at < length; at += 100ms) times.push_back(kNoon + start + at);
  }
  return times;
}

Look look_from(ListReel& reel, WallTime current, WallTime target, double speed) {
  EXPECT_TRUE(reel.seek(current));
  return look(reel, current, target, speed);
}

TEST(PlayClock, RunsAtItsSpeedBothWays) {
  const base::MonoTime start{1h};
  PlayClock clock{kNoon, start, 4};
  EXPECT_EQ(clock.target(start + 500ms), kNoon + 2s);
  EXPECT_EQ(clock.due_in(kNoon + 3s, start + 500ms), 250ms);
  EXPECT_EQ(clock.due_in(kNoon + 1s, start + 500ms), 0ms);
  clock.speed = -0.25;
  EXPECT_EQ(clock.target(start + 4s), kNoon - 1s);
  EXPECT_EQ(clock.due_in(kNoon - 2s, start + 4s), 4s);
}

TEST(Look, WaitsForTheNextFrameAndShowsItWhenDue) {
  ListReel reel(recording({0ms}, 10s));
  const Look early = look_from(reel, kNoon, kNoon + 50ms, 1);
  EXPECT_EQ(early.what, Look::wait);
  EXPECT_EQ(early.until, kNoon + 100ms);
  const Look due = look_from(reel, kNoon, kNoon + 100ms, 1);
  ASSERT_EQ(due.what, Look::show);
  EXPECT_EQ(due.frame->at, kNoon + 100ms);
}

TEST(Look, SkipsByTimeWithoutReadingWhatLiesBetween) {
  ListReel reel(recording({0ms}, 1h));
  ASSERT_TRUE(reel.seek(kNoon));
  reel.read = 0;
  const Look jump = look(reel, kNoon, kNoon + 64s, 64);
  ASSERT_EQ(jump.what, Look::show);
  EXPECT_EQ(jump.frame->at, kNoon + 64s);
  EXPECT_EQ(reel.read, 1);
}

TEST(Look, AGapIsToldBothWays) {
  ListReel reel(recording({0ms, 60s}, 10s));
  const Look forward = look_from(reel, kNoon + 9900ms, kNoon + 30s, 1);
  EXPECT_EQ(forward.what, Look::gap);
  EXPECT_EQ(forward.until, kNoon + 60s);
  const Look backward = look_from(reel, kNoon + 60s, kNoon + 30s, -1);
  EXPECT_EQ(backward.what, Look::gap);
  EXPECT_EQ(backward.until, kNoon + 9900ms);
}

TEST(Look, AJumpNeverPassesOverAGap) {
  ListReel reel(recording({0ms, 14s}, 10s));
  const Look forward = look_from(reel, kNoon + 1s, kNoon + 20s, 64);
  ASSERT_EQ(forward.what, Look::show);
  EXPECT_EQ(forward.frame->at, kNoon + 9900ms);
  EXPECT_EQ(look(reel, kNoon + 9900ms, kNoon + 20s, 64).what, Look::gap);
  const Look backward = look_from(reel, kNoon + 20s, kNoon + 1s, -64);
  ASSERT_EQ(backward.what, Look::show);
  EXPECT_EQ(backward.frame->at, kNoon + 14s);
  EXPECT_EQ(look(reel, kNoon + 14s, kNoon + 1s, -64).what, Look::gap);
}

TEST(Look, ATargetInsideAGapEndsAtItsNearEdge) {
  ListReel reel(recording({0ms, 60s}, 10s));
  const Look backward = look_from(reel, kNoon + 61s, kNoon + 30s, -64);
  ASSERT_EQ(backward.what, Look::show);
  EXPECT_EQ(backward.frame->at, kNoon + 60s);
  const Look forward = look_from(reel, kNoon + 9s, kNoon + 30s, 64);
  ASSERT_EQ(forward.what, Look::show);
  EXPECT_EQ(forward.frame->at, kNoon + 9900ms);
}

TEST(Look, EndsAtBothEnds) {
  ListReel reel(recording({0ms}, 10s));
  EXPECT_EQ(look_from(reel, kNoon + 9900ms, kNoon + 20s, 1).what, Look::end);
  EXPECT_EQ(look_from(reel, kNoon, kNoon - 20s, -1).what, Look::end);
  const Look past = look_from(reel, kNoon + 200ms, kNoon - 1s, -8);
  ASSERT_EQ(past.what, Look::show);
  EXPECT_EQ(past.frame->at, kNoon);
}

TEST(Look, BackwardGoesDownFrameByFrameWhenSlow) {
  ListReel reel(recording({0ms}, 10s));
  const Look early = look_from(reel, kNoon + 1s, kNoon + 950ms, -1);
  EXPECT_EQ(early.what, Look::wait);
  EXPECT_EQ(early.until, kNoon + 900ms);
  const Look due = look_from(reel, kNoon + 1s, kNoon + 900ms, -1);
  ASSERT_EQ(due.what, Look::show);
  EXPECT_EQ(due.frame->at, kNoon + 900ms);
}

TEST(Credits, OneASlotAndThirtyTwoInAll) {
  Credits credits;
  for (int slot = 0; slot < 32; ++slot) {
    EXPECT_TRUE(credits.has_room());
    credits.reserve(slot);
    EXPECT_EQ(credits.send(slot), static_cast<std::uint32_t>(slot + 1));
    EXPECT_FALSE(credits.slot_is_free(slot));
  }
  EXPECT_FALSE(credits.has_room());
  EXPECT_EQ(credits.acknowledge(3), 2);
  EXPECT_TRUE(credits.has_room());
  EXPECT_EQ(credits.acknowledge(3), std::nullopt);
  EXPECT_EQ(credits.acknowledge(0), std::nullopt);
  EXPECT_EQ(credits.acknowledge(99), std::nullopt);
  credits.reserve(2);
  EXPECT_EQ(credits.acknowledge(0), std::nullopt);  // reserved, not sent
  EXPECT_EQ(credits.send(2), 33U);
  credits.drop(5);
  EXPECT_EQ(credits.acknowledge(6), std::nullopt);
  EXPECT_EQ(credits.outstanding(), 31U);
}

}  // namespace
}  // namespace rookery::web
