// Vitals come back as they were measured, in steps that fit the span, and a year of them is small.
#include "archive/vitals_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <zlib.h>

#include <random>

#include "archive/vitals_codes.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;
using camera::Vitals;
using std::chrono::days;

const base::CameraName kAnvil = base::CameraName::parse("anvil").value();
const base::CameraName kBobbin = base::CameraName::parse("bobbin").value();
const base::WallTime kMidnight = base::parse_rfc3339("2026-03-01T00:00:00Z").value();

// What a printer's camera at the edge of the radio might say: rates wander, one minute in ten is rough.
class Weather {
 public:
  explicit Weather(std::uint64_t seed) : random_(seed) {}
  Vitals next() {
    bytes_ = std::clamp(bytes_ * std::exp(0.03 * normal_(random_)), 8e3, 80e3);
    light_ = std::clamp(light_ + 2 * normal_(random_), 10.0, 240.0);
    const bool rough = random_() % 10 == 0;
    return {.live = rough ? 0.8 + 0.2 * unit_(random_) : 1,
            .frames_per_s = 10 * (1 + 0.04 * normal_(random_)),
            .bytes_a_frame = bytes_,
            .longest_gap_s = (rough ? 1.5 : 0.15) * std::exp(0.6 * normal_(random_)),
            .jitter_s = 0.008 * std::exp(0.3 * normal_(random_)),
            .broken = std::floor(rough ? 5 * unit_(random_) : 1.2 * unit_(random_)),
            .connects = rough ? 1.0 : 0.0,
            .dropouts = rough ? 1.0 : 0.0,
            .light = light_};
  }

 private:
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  std::uniform_real_distribution<double> unit_;
  double bytes_ = 25e3;
  double light_ = 120;
};

RC_GTEST_PROP(VitalsCodes, ANumberComesBackWithinWhatIsPromised, ()) {
  const auto spread = [](double least, double most) {
    return *rc::gen::map(rc::gen::inRange(0, 1'000'000),
                         [=](int at) { return least * std::pow(most / least, at / 1e6); });
  };
  const Vitals there{.live = *rc::gen::inRange(0, 1001) / 1000.0,
                     .frames_per_s = spread(0.01, 120),
                     .bytes_a_frame = spread(100, 5e6),
                     .longest_gap_s = spread(1e-3, 60),
                     .jitter_s = spread(1e-5, 10),
                     .broken = static_cast<double>(*rc::gen::inRange(0, 11)),
                     .connects = static_cast<double>(*rc::gen::inRange(11, 5000)),
                     .dropouts = 0,
                     .light = *rc::gen::inRange(0, 2550) / 10.0};
  const Vitals back = from_codes(to_codes(there)).value();
  const auto within = [](double a, double b, double share) {
    RC_ASSERT(std::abs(a - b) <= share * b + 1e-12);
  };
  RC_ASSERT(std::abs(back.live - there.live) <= 0.0025 + 1e-12);
  within(back.frames_per_s, there.frames_per_s, 0.025);
  within(back.bytes_a_frame, there.bytes_a_frame, 0.025);
  within(back.longest_gap_s, there.longest_gap_s, 0.05);
  within(back.jitter_s, there.jitter_s, 0.05);
  RC_ASSERT(back.broken == there.broken);
  RC_ASSERT(std::abs(back.connects - there.connects) <= 0.025 * there.connects + 0.5);
  RC_ASSERT(back.dropouts == 0);
  RC_ASSERT(std::abs(*back.light - *there.light) <= 1);
}

TEST(VitalsCodes, NothingIsNotTheSameAsNotMeasured) {
  EXPECT_EQ(from_codes(to_codes(Vitals{})), Vitals{});
  EXPECT_EQ(from_codes(VitalsCodes{}), std::nullopt);
}

TEST(VitalsCodes, ADayComesBackAndADamagedOneIsSaidToBe) {
  Weather weather(1);
  std::vector<VitalsCodes> day(kMinutesADay);
  for (std::size_t i = 0; i < day.size(); i += 2) day[i] = to_codes(weather.next());
  auto blob = pack_day(day);
  EXPECT_EQ(unpack_day(blob).value(), day);
  for (const std::size_t size : {std::size_t{0}, std::size_t{1}, std::size_t{2}, blob.size() / 2}) {
    EXPECT_EQ(unpack_day(std::span(blob).first(size)).error().code, base::ErrorCode::damaged) << size;
  }
  blob[0] = std::byte{9};
  EXPECT_FALSE(unpack_day(blob));
}

// As a program that measured only how long the camera was live would have written it.
TEST(VitalsCodes, ADayOfAProgramThatMeasuredLessIsRead) {
  const std::vector<std::uint8_t> live(kMinutesADay, 201);
  std::vector<std::byte> blob(2 + compressBound(kMinutesADay));
  blob[0] = std::byte{1};
  blob[1] = std::byte{1};
  uLongf size = static_cast<uLongf>(blob.size() - 2);
  ASSERT_EQ(compress(reinterpret_cast<Bytef*>(blob.data() + 2), &size, live.data(), live.size()), Z_OK);
  blob.resize(2 + size);
  const auto day = unpack_day(blob).value();
  EXPECT_EQ(from_codes(day[700]), (Vitals{.live = 1,
                                          .frames_per_s = 0,
                                          .bytes_a_frame = 0,
                                          .longest_gap_s = 0,
                                          .jitter_s = 0,
                                          .broken = 0,
                                          .connects = 0,
                                          .dropouts = 0,
                                          .light = {}}));
}

class VitalsStoreTest : public testing::Test {
 protected:
  VitalsStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {}
  void put(base::WallTime at, const base::CameraName& camera, double frames_per_s) {
    store.put_later(at, {{camera, Vitals{.live = 1,
                                         .frames_per_s = frames_per_s,
                                         .bytes_a_frame = 0,
                                         .longest_gap_s = 0,
                                         .jitter_s = 0,
                                         .broken = 0,
                                         .connects = 0,
                                         .dropouts = 1,
                                         .light = {}}}});
  }
  std::int64_t number(const char* query) const {
    std::int64_t found = 0;
    EXPECT_TRUE(catalog->read([&](SQLite::Database& db) -> base::Result<void> {
      found = db.execAndGet(query).getInt64();
      return base::ok();
    }));
    return found;
  }
  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  VitalsStore store;
};

TEST_F(VitalsStoreTest, MinutesComeBackPackedOrNot) {
  for (int minute = 0; minute < 3 * 1440; ++minute) put(kMidnight + minute * 1min, kAnvil, minute % 7);
  put(kMidnight + 5min, kBobbin, 9);
  ASSERT_TRUE(catalog->flush());
  const auto before = store.between(kAnvil, kMidnight + 23h, kMidnight + 26h).value();
  ASSERT_EQ(before.steps.size(), 180u);
  EXPECT_EQ(before.step, 60s);
  EXPECT_NEAR(before.steps[1]->frames_per_s, (23 * 60 + 1) % 7, 0.2);
  ASSERT_TRUE(store.pack(kMidnight + days(2) + 1min));
  EXPECT_EQ(number("SELECT count(*) FROM vitals_day"), 3);
  EXPECT_EQ(number("SELECT count(*) FROM vitals_minute"), 1440) << "the day under way";
  EXPECT_EQ(store.between(kAnvil, kMidnight + 23h, kMidnight + 26h).value().steps, before.steps);
  EXPECT_EQ(store.between(kBobbin, kMidnight, kMidnight + 10min).value().steps[4], std::nullopt);
  EXPECT_NEAR(store.between(kBobbin, kMidnight, kMidnight + 10min).value().steps[5]->frames_per_s, 9, 0.2);
}

TEST_F(VitalsStoreTest, ALongSpanIsToldInLongerSteps) {
  for (int minute = 0; minute < 120; ++minute) put(kMidnight + minute * 1min, kAnvil, minute < 60 ? 10 : 20);
  ASSERT_TRUE(catalog->flush());
  const auto series = store.between(kAnvil, kMidnight - days(30), kMidnight + 2h).value();
  EXPECT_EQ(series.step, 30min);
  EXPECT_LE(series.steps.size(), VitalsStore::kMostSteps);
  ASSERT_EQ(series.steps.size(), 30u * 48 + 4);
  EXPECT_EQ(series.steps[30 * 48 - 1], std::nullopt);
  EXPECT_NEAR(series.steps[30 * 48]->frames_per_s, 10, 0.25);
  EXPECT_NEAR(series.steps[30 * 48 + 3]->frames_per_s, 20, 0.5);
  EXPECT_EQ(series.steps[30 * 48]->dropouts, 30);
  EXPECT_LE(store.between(kAnvil, kMidnight, kMidnight + days(401)).value().steps.size(),
            VitalsStore::kMostSteps);
}

TEST_F(VitalsStoreTest, TooLongOrBackwardsIsRefused) {
  for (const auto to : {kMidnight, kMidnight - 1us, kMidnight + days(401) + 1us}) {
    EXPECT_EQ(store.between(kAnvil, kMidnight, to).error().code, base::ErrorCode::invalid_value);
  }
}

TEST_F(VitalsStoreTest, AMinuteMeasuredTwiceStaysAsItWasFirst) {
  put(kMidnight, kAnvil, 10);
  ASSERT_TRUE(catalog->flush());
  ASSERT_TRUE(store.pack(kMidnight + days(1)));
  put(kMidnight, kAnvil, 20);  // the clock was set back
  put(kMidnight + 1min, kAnvil, 20);
  ASSERT_TRUE(catalog->flush());
  ASSERT_TRUE(store.pack(kMidnight + days(1)));
  const auto steps = store.between(kAnvil, kMidnight, kMidnight + 2min).value().steps;
  EXPECT_NEAR(steps[0]->frames_per_s, 10, 0.25);
  EXPECT_NEAR(steps[1]->frames_per_s, 20, 0.5);
}

TEST_F(VitalsStoreTest, WhatIsOlderThan400DaysGoes) {
  put(kMidnight, kAnvil, 10);
  put(kMidnight + days(400), kAnvil, 10);
  ASSERT_TRUE(catalog->flush());
  ASSERT_TRUE(store.pack(kMidnight + days(400)));
  EXPECT_EQ(number("SELECT count(*) FROM vitals_day"), 1);
  put(kMidnight + days(401), kAnvil, 10);
  ASSERT_TRUE(catalog->flush());
  ASSERT_TRUE(store.pack(kMidnight + days(402)));
  EXPECT_EQ(number("SELECT min(day) * 1440 FROM vitals_day"),
            std::chrono::floor<std::chrono::minutes>(kMidnight + days(400)).time_since_epoch().count());
}

// 2 MiB a camera and year were asked for.
TEST_F(VitalsStoreTest, AYearOfACameraAtTheEdgeOfTheRadioTakesLessThanTwoMebibytes) {
  Weather weather(7);
  const auto bytes = [this] {
    return number(
        "SELECT sum(pgsize) FROM dbstat WHERE name IN ('vitals_day', 'vitals_day_by_day', "
        "'sqlite_autoindex_vitals_day_1')");
  };
  ASSERT_TRUE(catalog->write([&](SQLite::Database& db) -> base::Result<void> {
    db.exec("INSERT INTO recorded(camera) VALUES('anvil')");
    SQLite::Statement insert(db, "INSERT INTO vitals_day(recorded, day, minutes) VALUES(1, ?, ?)");
    for (int day = 0; day < 365; ++day) {
      std::vector<VitalsCodes> minutes;
      for (std::size_t i = 0; i < kMinutesADay; ++i) minutes.push_back(to_codes(weather.next()));
      const auto blob = pack_day(minutes);
      insert.bind(1, day);
      insert.bind(2, blob.data(), static_cast<int>(blob.size()));
      insert.exec();
      insert.reset();
    }
    return base::ok();
  }));
  RecordProperty("bytes", std::to_string(bytes()));
  EXPECT_LT(bytes(), 2 << 20);
}

}  // namespace
}  // namespace rookery::archive
