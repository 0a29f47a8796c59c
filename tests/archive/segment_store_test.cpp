// Which segments the catalog gives back, and that its sums and marks stay true.
#include "archive/segment_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <fstream>
#include <random>

#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;

base::CameraName named(const char* text) { return base::CameraName::parse(text).value(); }
base::WallTime at(std::chrono::microseconds since_noon) {
  return base::parse_rfc3339("2026-03-01T12:00:00Z").value() + since_noon;
}

class SegmentStoreTest : public testing::Test {
 protected:
  SegmentStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {}

  Segment make(const char* camera, std::chrono::microseconds start, std::chrono::microseconds length,
               std::uint64_t bytes = 1000) {
    Segment segment(named(camera));
    segment.start = at(start);
    segment.end = at(start + length);
    segment.bytes = bytes;
    segment.frames = 10;
    segment.path = fmt::format("{}/2026-03-01/{}.mkv", camera, number_++);
    return segment;
  }
  Segment add(Segment segment) {
    segment.id = store.add(segment).value();
    return segment;
  }
  static std::vector<std::int64_t> ids(const std::vector<Segment>& segments) {
    std::vector<std::int64_t> out;
    for (const Segment& segment : segments) out.push_back(segment.id);
    return out;
  }

  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  SegmentStore store;
  int number_ = 0;
};

TEST_F(SegmentStoreTest, GivesBackWhatWasAdded) {
  Segment segment = make("anvil", 0s, 10min, 5'000'000);
  segment.open = true;
  segment.frames = 6000;
  segment.id = store.add(segment).value();
  const auto found = store.between(segment.camera, at(1min), at(2min)).value();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].id, segment.id);
  EXPECT_EQ(found[0].camera, segment.camera);
  EXPECT_EQ(found[0].path, segment.path);
  EXPECT_EQ(found[0].start, segment.start);
  EXPECT_EQ(found[0].end, segment.end);
  EXPECT_EQ(found[0].frames, 6000u);
  EXPECT_EQ(found[0].bytes, 5'000'000u);
  EXPECT_TRUE(found[0].open);
  EXPECT_FALSE(found[0].kept);
  EXPECT_EQ(store.find(segment.path).value()->id, segment.id);
  EXPECT_FALSE(store.find("anvil/none.mkv").value().has_value());
}

TEST_F(SegmentStoreTest, SamePathTwiceIsRefused) {
  const Segment segment = add(make("anvil", 0s, 1min));
  const auto again = store.add(segment);
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, base::ErrorCode::already_exists);
  EXPECT_NE(again.error().text().find(segment.path), std::string::npos);
  EXPECT_EQ(store.count().value(), 1u);
}

TEST_F(SegmentStoreTest, SegmentsThatTheClockWroteTwiceAreBothFound) {
  const Segment first = add(make("anvil", 0s, 10min));
  const Segment set_back = add(make("anvil", 5min, 10min));
  EXPECT_EQ(ids(store.between(named("anvil"), at(6min), at(7min)).value()),
            (std::vector{first.id, set_back.id}));
}

TEST_F(SegmentStoreTest, NeighboursByStart) {
  const Segment a = add(make("anvil", 0s, 10min));
  const Segment b = add(make("anvil", 20min, 10min));
  add(make("bobbin", 10min, 5min));
  const auto camera = named("anvil");
  EXPECT_EQ(store.first_from(camera, at(-1h)).value()->id, a.id);
  EXPECT_EQ(store.first_from(camera, at(0s)).value()->id, a.id);
  EXPECT_EQ(store.first_from(camera, at(1us)).value()->id, b.id);
  EXPECT_FALSE(store.first_from(camera, at(20min + 1us)).value().has_value());
  EXPECT_EQ(store.last_until(camera, at(2h)).value()->id, b.id);
  EXPECT_EQ(store.last_until(camera, at(20min)).value()->id, b.id);
  EXPECT_EQ(store.last_until(camera, at(20min - 1us)).value()->id, a.id);
  EXPECT_FALSE(store.last_until(camera, at(-1us)).value().has_value());
}

TEST_F(SegmentStoreTest, GrowsAndCloses) {
  Segment segment = make("anvil", 0s, 0s, 100);
  segment.open = true;
  segment = add(segment);
  EXPECT_EQ(ids(store.still_open().value()), std::vector{segment.id});
  for (int i = 1; i <= 50; ++i) {
    segment.end = at(i * 1s);
    segment.bytes = 100u + static_cast<unsigned>(i);
    segment.frames = static_cast<std::uint64_t>(i);
    segment.open = i < 50;
    store.note_later(segment);
  }
  ASSERT_TRUE(catalog->flush());
  const Segment found = *store.find(segment.path).value();
  EXPECT_EQ(found.end, at(50s));
  EXPECT_EQ(found.frames, 50u);
  EXPECT_FALSE(found.open);
  EXPECT_TRUE(store.still_open().value().empty());
  EXPECT_EQ(store.bytes_of(segment.camera).value(), 150u);
  const auto counters = catalog->late_counters();
  EXPECT_EQ(counters.committed + counters.replaced, 50u);
  EXPECT_GT(counters.replaced, 0u);
}

TEST_F(SegmentStoreTest, NotingMakesTheEntryAndLeavesTheKeptMarkOfOneThatIs) {
  Segment segment = make("anvil", 0s, 1min);
  segment.open = true;
  store.note_later(segment);
  ASSERT_TRUE(catalog->flush());
  EXPECT_TRUE(store.find(segment.path).value()->open);
  ASSERT_TRUE(store.set_kept(segment.camera, at(0s), at(1min), true));
  segment.open = false;
  store.note_later(segment);
  ASSERT_TRUE(catalog->flush());
  const Segment found = *store.find(segment.path).value();
  EXPECT_FALSE(found.open);
  EXPECT_TRUE(found.kept);
  EXPECT_EQ(store.count().value(), 1u);
}

TEST_F(SegmentStoreTest, RemovedEntryIsNotFoundAgain) {
  const Segment segment = add(make("anvil", 0s, 1min));
  ASSERT_TRUE(store.remove(segment.id));
  EXPECT_EQ(store.count().value(), 0u);
  EXPECT_EQ(store.bytes_of(segment.camera).value(), 0u);
  const auto again = store.remove(segment.id);
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, base::ErrorCode::not_found);
  EXPECT_EQ(store.set(segment).error().code, base::ErrorCode::not_found);
}

TEST_F(SegmentStoreTest, RetentionSeesClosedUnkeptOnesOldestFirst) {
  const Segment newer = add(make("anvil", 20min, 10min));
  const Segment older = add(make("bobbin", 0s, 10min));
  Segment open = make("anvil", -1h, 10min);
  open.open = true;
  add(open);
  Segment kept = make("anvil", -2h, 10min);
  kept.kept = true;
  add(kept);
  EXPECT_EQ(ids(store.oldest_unkept(10).value()), (std::vector{older.id, newer.id}));
  EXPECT_EQ(ids(store.oldest_unkept(1).value()), std::vector{older.id});
  EXPECT_EQ(ids(store.oldest_unkept(named("anvil"), 10).value()), std::vector{newer.id});
  EXPECT_EQ(store.cameras().value(), (std::vector{named("anvil"), named("bobbin")}));
}

TEST_F(SegmentStoreTest, LongSpanIsKeptWhole) {
  const auto day =
      folder.path() / "archive" / std::filesystem::path(make("anvil", 0s, 1min).path).parent_path();
  std::filesystem::create_directories(day);
  for (int i = 0; i < 450; ++i) add(make("anvil", i * 1min, 1min));
  const auto camera = named("anvil");
  EXPECT_EQ(store.set_kept(camera, at(0s), at(24h), true).value(), 450u);
  EXPECT_TRUE(store.oldest_unkept(1).value().empty());
  EXPECT_EQ(store.set_kept(camera, at(0s), at(24h), false).value(), 450u);
  EXPECT_EQ(store.oldest_unkept(1000).value().size(), 450u);
}

TEST_F(SegmentStoreTest, KeepingMarksTheFileToo) {
  const Segment a = add(make("anvil", 0s, 10min));
  const Segment b = add(make("anvil", 10min, 10min));
  const auto mark = [&](const Segment& segment) {
    return folder.path() / "archive" / (segment.path + ".kept");
  };
  std::filesystem::create_directories(mark(a).parent_path());
  EXPECT_EQ(store.set_kept(a.camera, at(1min), at(2min), true).value(), 1u);
  EXPECT_TRUE(std::filesystem::exists(mark(a)));
  EXPECT_FALSE(std::filesystem::exists(mark(b)));
  EXPECT_EQ(store.set_kept(a.camera, at(1min), at(15min), true).value(), 1u);  // b alone changes
  EXPECT_TRUE(store.oldest_unkept(10).value().empty());
  EXPECT_EQ(store.set_kept(a.camera, at(-1h), at(1h), false).value(), 2u);
  EXPECT_FALSE(std::filesystem::exists(mark(a)));
  EXPECT_FALSE(std::filesystem::exists(mark(b)));
  EXPECT_EQ(store.oldest_unkept(10).value().size(), 2u);
}

TEST_F(SegmentStoreTest, LettingGoTakesAMarkThatStayedBehind) {
  const Segment segment = add(make("anvil", 0s, 10min));
  const auto mark = folder.path() / "archive" / (segment.path + ".kept");
  std::filesystem::create_directories(mark.parent_path());
  std::ofstream(mark).close();
  EXPECT_EQ(store.set_kept(segment.camera, at(0s), at(1min), false).value(), 0u);
  EXPECT_FALSE(std::filesystem::exists(mark));
}

TEST_F(SegmentStoreTest, SpansJoinAcrossSmallGapsAndAreClipped) {
  add(make("anvil", 0s, 10min));
  add(make("anvil", 10min + 500ms, 10min));
  add(make("anvil", 30min, 10min));
  EXPECT_EQ(store.spans(named("anvil"), at(5min), at(35min), 1000ms).value(),
            (std::vector<Span>{{at(5min), at(20min + 500ms)}, {at(30min), at(35min)}}));
  EXPECT_EQ(store.spans(named("anvil"), at(5min), at(35min), 499ms).value().size(), 3u);
  EXPECT_TRUE(store.spans(named("cog"), at(0s), at(1h), 1000ms).value().empty());
}

// Whatever the segments are, `between` finds just those that overlap, and the sums are their sums.
TEST_F(SegmentStoreTest, AgreesWithAPlainListWhateverIsDone) {
  std::mt19937 random(20260301);
  const auto number = [&](int least, int most) {
    return std::uniform_int_distribution<int>(least, most)(random);
  };
  std::vector<Segment> truth;
  for (int round = 0; round < 300; ++round) {
    const int what = number(0, 9);
    if (truth.empty() || what < 6) {
      // One in twenty is far longer than the rest: the search must still find it.
      const auto length = number(0, 19) == 0 ? 3h : std::chrono::hours{0} + number(0, 900) * 1s;
      truth.push_back(add(make(number(0, 1) == 0 ? "anvil" : "bobbin", number(0, 40'000) * 1s, length,
                               static_cast<std::uint64_t>(number(0, 1'000'000)))));
    } else if (what < 8) {
      const auto victim = truth.begin() + number(0, static_cast<int>(truth.size()) - 1);
      ASSERT_TRUE(store.remove(victim->id));
      truth.erase(victim);
    } else {
      Segment& changed = truth[static_cast<std::size_t>(number(0, static_cast<int>(truth.size()) - 1))];
      changed.bytes = static_cast<std::uint64_t>(number(0, 1'000'000));
      changed.end = changed.start + number(0, 2000) * 1s;
      ASSERT_TRUE(store.set(changed));
    }
    if (round % 10 != 0) continue;
    const auto camera = named(number(0, 1) == 0 ? "anvil" : "bobbin");
    const auto from = at(number(-1000, 41'000) * 1s);
    const auto to = from + number(0, 5000) * 1s;
    std::vector<std::int64_t> expected;
    std::uint64_t bytes = 0;
    for (const Segment& segment : truth) {
      if (segment.camera != camera) continue;
      bytes += segment.bytes;
      if (segment.start <= to && segment.end >= from) expected.push_back(segment.id);
    }
    auto found = ids(store.between(camera, from, to).value());
    std::sort(found.begin(), found.end());
    std::sort(expected.begin(), expected.end());
    ASSERT_EQ(found, expected) << "round " << round;
    ASSERT_EQ(store.bytes_of(camera).value(), bytes);
    ASSERT_EQ(store.count().value(), truth.size());
  }
}

// Every moment that a segment covers lies in a span; spans are in order, apart by more than the gap.
TEST_F(SegmentStoreTest, SpansCoverWhatSegmentsCover) {
  std::mt19937 random(7);
  const auto number = [&](int least, int most) {
    return std::uniform_int_distribution<int>(least, most)(random);
  };
  std::vector<Segment> all;
  for (int i = 0; i < 60; ++i) all.push_back(add(make("anvil", number(0, 20'000) * 1s, number(0, 400) * 1s)));
  for (int round = 0; round < 50; ++round) {
    const base::Milliseconds gap{number(0, 60'000)};
    const auto from = at(number(0, 15'000) * 1s);
    const auto to = from + number(0, 8000) * 1s;
    const auto spans = store.spans(named("anvil"), from, to, gap).value();
    for (std::size_t i = 0; i < spans.size(); ++i) {
      ASSERT_LE(from, spans[i].from);
      ASSERT_LE(spans[i].from, spans[i].to);
      ASSERT_LE(spans[i].to, to);
      if (i > 0) {
        ASSERT_GT(spans[i].from - spans[i - 1].to, gap);
      }
    }
    for (const Segment& segment : all) {
      if (segment.end < from || segment.start > to) continue;
      const auto first = std::max(segment.start, from), last = std::min(segment.end, to);
      ASSERT_TRUE(std::any_of(spans.begin(), spans.end(),
                              [&](const Span& span) { return span.from <= first && last <= span.to; }));
    }
  }
}

// 100 000 segments are ten weeks of twenty cameras. What a person or retention asks must not walk through
// them.
TEST_F(SegmentStoreTest, NoQuestionScansTheWholeTable) {
  auto plan_of = [&](const std::string& query_text) {
    std::string plan;
    EXPECT_TRUE(catalog->read([&](SQLite::Database& db) -> base::Result<void> {
      SQLite::Statement query(db, "EXPLAIN QUERY PLAN " + query_text);
      while (query.executeStep()) plan += query.getColumn(3).getString() + "\n";
      return base::ok();
    }));
    return plan;
  };
  const std::string from =
      "SELECT path, camera FROM segment JOIN recorded ON recorded.id = segment.recorded ";
  for (const char* rest :
       {"WHERE recorded.camera = 'anvil' AND start_us <= 9 AND start_us >= 5 - recorded.longest_us AND "
        "end_us >= "
        "5 ORDER BY start_us, segment.id",
        "WHERE recorded.camera = 'anvil' AND start_us >= 5 ORDER BY start_us, segment.id LIMIT 1",
        "WHERE recorded.camera = 'anvil' AND start_us <= 5 ORDER BY start_us DESC, segment.id DESC LIMIT 1",
        "WHERE recorded.camera = 'anvil' AND open = 0 AND kept = 0 ORDER BY start_us LIMIT 9",
        "WHERE path = 'a'"}) {
    const std::string plan = plan_of(from + rest);
    EXPECT_EQ(plan.find("SCAN"), std::string::npos) << rest << "\n" << plan;
    EXPECT_EQ(plan.find("TEMP B-TREE"), std::string::npos) << rest << "\n" << plan;
  }
  const std::string loose = plan_of(from + "WHERE open = 0 AND kept = 0 ORDER BY start_us LIMIT 9");
  EXPECT_NE(loose.find("segment_loose"), std::string::npos) << loose;
  EXPECT_EQ(loose.find("TEMP B-TREE"), std::string::npos) << loose;
  const std::string open = plan_of(from + "WHERE open = 1 ORDER BY segment.id");
  EXPECT_NE(open.find("segment_open"), std::string::npos) << open;
}

}  // namespace
}  // namespace rookery::archive
