// Replay: the pace, what is counted, and that what crosses makes an event.
#include "station/replay.h"

#include <gtest/gtest.h>

#include "tests/support/crossing.h"

namespace rookery::station {
namespace {

using base::Microseconds;
using std::chrono::milliseconds;
using std::chrono::seconds;

// Pictures from memory.
class ListSource final : public archive::PictureSource {
 public:
  struct Entry {
    Microseconds at;
    std::vector<std::byte> jpeg;
  };
  explicit ListSource(std::vector<Entry> entries) : entries_(std::move(entries)) {}
  base::Result<std::optional<Microseconds>> step() override {
    if (next_ == entries_.size()) return std::optional<Microseconds>{};
    return std::optional{entries_[next_++].at};
  }
  base::Result<std::span<const std::byte>> read() & override {
    return std::span<const std::byte>(entries_[next_ - 1].jpeg);
  }
  double passed() const override { return 0; }

 private:
  std::vector<Entry> entries_;
  std::size_t next_ = 0;
};

std::vector<ListSource::Entry> crossing(int frames_per_s) {
  std::vector<ListSource::Entry> entries;
  for (int i = 0; i < rookery::test::kCrossingFilm_s * frames_per_s; ++i) {
    const double at_s = static_cast<double>(i) / frames_per_s;
    entries.push_back(
        {Microseconds{static_cast<std::int64_t>(at_s * 1e6)}, rookery::test::crossing_at(at_s)});
  }
  return entries;
}

struct Outcome {
  base::Result<ReplayReport> report = base::Error{};
  std::vector<vision::MotionEvent> events;
};
Outcome run(std::vector<ListSource::Entry> entries, const ReplaySettings& settings = {}) {
  ListSource source(std::move(entries));
  Outcome outcome;
  outcome.report = replay(
      source, settings, [&](const vision::MotionEvent& event) { outcome.events.push_back(event); },
      [] { return true; });
  return outcome;
}

int taken(double rate, double frames_per_s, double jitter_s = 0) {
  Pace pace(rate);
  int count = 0;
  for (int i = 0; i < static_cast<int>(60 * frames_per_s); ++i) {
    const double at = i / frames_per_s + (i % 3 == 1 ? jitter_s : i % 3 == 2 ? -jitter_s : 0);
    count += pace.take(Microseconds{static_cast<std::int64_t>(at * 1e6)}) ? 1 : 0;
  }
  return count;
}

TEST(Pace, KeepsItsRateWhateverComes) {
  for (const double frames_per_s : {10.0, 12.5, 14.985, 15.0, 24.0, 25.0, 29.97, 30.0, 60.0})
    EXPECT_NEAR(taken(5, frames_per_s), 300, 3) << frames_per_s;
  EXPECT_NEAR(taken(5, 10, 0.01), 300, 3);
  EXPECT_EQ(taken(5, 5), 300);
  EXPECT_EQ(taken(5, 4), 240);  // fewer than asked for: all
  EXPECT_EQ(taken(5, 1), 60);
}

TEST(Pace, GoesOnAtOnceAfterAPause) {
  Pace pace(5);
  EXPECT_TRUE(pace.take(seconds{0}));
  EXPECT_FALSE(pace.take(milliseconds{100}));
  EXPECT_TRUE(pace.take(seconds{100}));
  EXPECT_FALSE(pace.take(seconds{100} + milliseconds{100}));
  EXPECT_TRUE(pace.take(seconds{100} + milliseconds{200}));
}

TEST(Replay, WhatCrossesIsOneEventWithItsTimesAndPlace) {
  for (const int frames_per_s : {5, 10, 25}) {
    SCOPED_TRACE(frames_per_s);
    const Outcome outcome = run(crossing(frames_per_s));
    ASSERT_TRUE(outcome.report.has_value()) << outcome.report.error().text();
    EXPECT_EQ(outcome.report->pictures,
              static_cast<std::uint64_t>(rookery::test::kCrossingFilm_s * frames_per_s));
    EXPECT_NEAR(static_cast<double>(outcome.report->looked_at), 5.0 * rookery::test::kCrossingFilm_s, 3);
    ASSERT_EQ(outcome.events.size(), 1U);
    EXPECT_EQ(outcome.report->events, 1U);
    const vision::MotionEvent& event = outcome.events[0];
    EXPECT_EQ(event.cause, vision::MotionEvent::Cause::motion);
    EXPECT_NEAR(std::chrono::duration<double>(event.start).count(), rookery::test::kCrossingFrom_s, 0.7);
    EXPECT_NEAR(std::chrono::duration<double>(event.end).count(), rookery::test::kCrossingTo_s, 1.2);
  }
}

TEST(Replay, ADamagedPictureIsCountedAndToldAndNotFatal) {
  auto entries = crossing(5);
  entries[7].jpeg.resize(entries[7].jpeg.size() / 2);
  entries[9].jpeg.clear();
  const Outcome outcome = run(std::move(entries));
  ASSERT_TRUE(outcome.report.has_value());
  EXPECT_EQ(outcome.report->bad, 2U);
  EXPECT_NE(outcome.report->first_bad.find("1.400 s"), std::string::npos) << outcome.report->first_bad;
  EXPECT_EQ(outcome.events.size(), 1U);
}

TEST(Replay, NoPictureThatCanBeDecodedIsAnError) {
  const Outcome outcome = run({{seconds{0}, {}}, {seconds{1}, std::vector<std::byte>(100)}});
  ASSERT_FALSE(outcome.report.has_value());
  EXPECT_EQ(outcome.report.error().code, base::ErrorCode::damaged);
}

TEST(Replay, TimesThatGoBackAreLeftOutAndPausesAreNotCounted) {
  auto entries = crossing(5);
  const std::size_t usual = entries.size();
  for (std::size_t i = 0; i < 10; ++i) entries.push_back(entries[i]);
  entries.push_back({seconds{3600}, entries[0].jpeg});
  const Outcome outcome = run(std::move(entries));
  ASSERT_TRUE(outcome.report.has_value());
  EXPECT_EQ(outcome.report->pictures, usual + 11);
  EXPECT_EQ(outcome.report->earlier, 10U);
  EXPECT_LT(outcome.report->covered, seconds{rookery::test::kCrossingFilm_s});
}

TEST(Replay, AnotherPictureSizeEndsTheEventUnderWay) {
  auto entries = crossing(5);
  entries.resize(static_cast<std::size_t>(5 * (rookery::test::kCrossingFrom_s + 2)));
  entries.push_back({entries.back().at + milliseconds{200}, rookery::test::crossing_at(0, 160, 120)});
  const Outcome outcome = run(std::move(entries));
  ASSERT_EQ(outcome.events.size(), 1U);
  EXPECT_EQ(outcome.events[0].grid_width, rookery::test::kCrossingWidth_px / 8);
}

TEST(Replay, StopsWhenToldTo) {
  ListSource source(crossing(5));
  int asked = 0;
  const auto report = replay(
      source, {}, [](const vision::MotionEvent&) {}, [&] { return ++asked < 20; });
  ASSERT_FALSE(report.has_value());
  EXPECT_EQ(report.error().code, base::ErrorCode::cancelled);
  EXPECT_EQ(asked, 20);
}

}  // namespace
}  // namespace rookery::station
