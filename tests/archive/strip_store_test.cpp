// Strips come back as they were put, in whatever order and span.
#include "archive/strip_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <map>
#include <random>

#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;

const base::CameraName kAnvil = base::CameraName::parse("anvil").value();
const base::WallTime kMidnight = base::parse_rfc3339("2026-03-01T00:00:00Z").value();

class StripStoreTest : public testing::Test {
 protected:
  StripStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {}
  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  StripStore store;
};

TEST_F(StripStoreTest, ADayHas8640StepsAndThoseNeverSeenAreNone) {
  const Strip strip = store.between(kAnvil, kMidnight, kMidnight + 24h).value();
  EXPECT_EQ(strip.from, kMidnight);
  ASSERT_EQ(strip.steps.size(), 8640u);
  EXPECT_EQ(strip.steps[0], StripStep{});
}

TEST_F(StripStoreTest, ASpanIsWidenedToWholeSteps) {
  store.put_later(kAnvil, kMidnight + 17s, {9, Health::rough});
  ASSERT_TRUE(catalog->flush());
  const Strip strip = store.between(kAnvil, kMidnight + 11s, kMidnight + 21s).value();
  EXPECT_EQ(strip.from, kMidnight + 10s);
  EXPECT_EQ(strip.steps, (std::vector<StripStep>{{9, Health::rough}, {}}));
  EXPECT_EQ(store.between(kAnvil, kMidnight + 15s, kMidnight + 15s).value().steps.size(), 1u);
  EXPECT_EQ(store.between(kAnvil, kMidnight, kMidnight).value().steps.size(), 1u);
}

TEST_F(StripStoreTest, TooLongOrBackwardsIsRefused) {
  EXPECT_TRUE(store.between(kAnvil, kMidnight, kMidnight + 31 * 24h));
  for (const auto to : {kMidnight + 31 * 24h + 1us, kMidnight - 1us}) {
    const auto refused = store.between(kAnvil, kMidnight, to);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, base::ErrorCode::invalid_value);
  }
}

TEST_F(StripStoreTest, ADayIs24RowsOfWhole720Bytes) {
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    StripStore::put(db, kAnvil, Strip{kMidnight, std::vector<StripStep>(8640, {1, Health::live})});
    return base::ok();
  }));
  ASSERT_TRUE(catalog->read([](SQLite::Database& db) -> base::Result<void> {
    EXPECT_EQ(db.execAndGet("SELECT count(*) FROM strip").getInt(), 24);
    EXPECT_EQ(db.execAndGet("SELECT sum(length(steps)) FROM strip").getInt(), 24 * 720);
    return base::ok();
  }));
}

TEST_F(StripStoreTest, AHealthOfALaterProgramReadsAsNone) {
  store.put_later(kAnvil, kMidnight, {5, static_cast<Health>(77)});
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(store.between(kAnvil, kMidnight, kMidnight).value().steps[0], (StripStep{5, Health::none}));
}

// Steps put in any order, some twice, before and after 1970, two cameras mixed: `between` gives each back.
TEST_F(StripStoreTest, GivesBackWhatWasPutInAnyOrder) {
  std::mt19937 random(11);
  const auto number = [&](int least, int most) {
    return std::uniform_int_distribution<int>(least, most)(random);
  };
  const base::CameraName bobbin = base::CameraName::parse("bobbin").value();
  std::map<std::pair<base::CameraName, base::WallTime>, StripStep> truth;
  for (const base::WallTime around : {kMidnight, base::WallTime{} - 2h}) {
    for (int i = 0; i < 1500; ++i) {
      const auto& camera = number(0, 1) == 0 ? kAnvil : bobbin;
      const auto step_at = around + number(0, 2000) * kStripStep;
      const StripStep step{static_cast<std::uint8_t>(number(0, 255)), static_cast<Health>(number(0, 3))};
      store.put_later(camera, step_at + number(0, 9'999'999) * 1us, step);
      truth[{camera, step_at}] = step;
    }
    ASSERT_TRUE(catalog->flush());
    for (int round = 0; round < 30; ++round) {
      const auto& camera = number(0, 1) == 0 ? kAnvil : bobbin;
      const auto from = around + number(-100, 2000) * kStripStep;
      const auto strip = store.between(camera, from, from + number(0, 1000) * kStripStep).value();
      for (std::size_t i = 0; i < strip.steps.size(); ++i) {
        const auto found = truth.find({camera, strip.from + static_cast<int>(i) * kStripStep});
        ASSERT_EQ(strip.steps[i], found == truth.end() ? StripStep{} : found->second);
      }
    }
  }
  EXPECT_EQ(catalog->late_counters().given_up, 0u);
}

}  // namespace
}  // namespace rookery::archive
