// check() finds what is wrong and only that; rebuild() gets everything back from the files.
#include "archive/camera_store.h"
#include "archive/home_lock.h"
#include "archive/strip_store.h"
#include "archive/upkeep.h"
#include "tests/archive/archive_support.h"

namespace rookery::archive {
namespace {

using std::chrono::minutes;
using test::Bytes;
using test::bytes_of;
using test::kNoon;
using test::milliseconds;
using test::seconds;

bool go_on(double) { return true; }

class CheckTest : public test::Hall {
 protected:
  void record_some(const base::CameraName& camera, int count = 60) {
    auto chosen = options();
    chosen.segment_length = seconds{10};
    Recorder recorder{*catalog, chosen, clock};
    record(recorder, camera, count, milliseconds{500});
  }
  CheckReport checked() {
    EXPECT_TRUE(catalog->flush());
    return check(*catalog, [](const CheckedSegment&) { return true; }).value();
  }
};

TEST_F(CheckTest, SoundArchiveHasNothingToSay) {
  record_some(anvil);
  record_some(bobbin);
  const auto report = checked();
  EXPECT_EQ(report.segments, segments(anvil).size() + segments(bobbin).size());
  EXPECT_EQ(report.frames, sent.size());
  EXPECT_TRUE(report.damaged.empty()) << report.damaged[0].fault;
}

TEST_F(CheckTest, SegmentThatIsBeingWrittenIsNoFault) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 10, milliseconds{100});
  recorder.flush();
  const auto report = checked();
  EXPECT_EQ(report.frames, 10u);
  EXPECT_TRUE(report.damaged.empty());
}

TEST_F(CheckTest, NamesEachKindOfDamage) {
  record_some(anvil, 120);
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 6u);
  // 0: a flipped bit in a picture; 1: cut off; 2: gone; 3: something else; 4: sound; 5: no entry.
  Bytes flipped = bytes_of(file_of(all[0]));
  const auto index = SegmentIndex::read(MemorySource{flipped}, "x").value();
  const auto place = index.frames()[7];
  flipped[place.offset + place.size_bytes / 2] ^= std::byte{0x10};
  test::write_bytes(file_of(all[0]), flipped);
  std::filesystem::resize_file(file_of(all[1]), all[1].bytes / 2);
  std::filesystem::remove(file_of(all[2]));
  test::write_bytes(file_of(all[3]), std::as_bytes(std::span{"a shopping list"}));
  ASSERT_TRUE(store.remove(all[5].id).has_value());
  const auto report = checked();
  EXPECT_EQ(report.segments, 6u);
  ASSERT_EQ(report.damaged.size(), 5u);
  EXPECT_NE(report.damaged[0].fault.find(base::to_rfc3339(index.time_of(7))), std::string::npos)
      << report.damaged[0].fault;
  EXPECT_NE(report.damaged[1].fault.find("no whole frame"), std::string::npos) << report.damaged[1].fault;
  EXPECT_NE(report.damaged[2].fault.find("not on the disk"), std::string::npos);
  EXPECT_NE(report.damaged[3].fault.find("Matroska"), std::string::npos);
  EXPECT_NE(report.damaged[4].fault.find("no entry"), std::string::npos);
}

// The catalog is told of a segment a moment after it began; a short one may have ended by then.
TEST_F(CheckTest, ARunningStationsLatestMayHaveNoEntryYet) {
  record_some(anvil);
  ASSERT_TRUE(store.remove(segments(anvil).back().id).has_value());
  EXPECT_EQ(checked().damaged.size(), 1u);
  const auto running = HomeLock::take(folder.path());
  ASSERT_TRUE(running.has_value());
  EXPECT_TRUE(checked().damaged.empty());
}

TEST_F(CheckTest, StopsWhenTold) {
  record_some(anvil);
  std::size_t told = 0;
  ASSERT_TRUE(check(*catalog, [&](const CheckedSegment&) { return ++told < 2; }).has_value());
  EXPECT_EQ(told, 2u);
}

// Everything that a catalog says of recordings, for comparing.
std::vector<std::string> told(const std::vector<Segment>& all) {
  std::vector<std::string> lines;
  for (const auto& one : all) {
    lines.push_back(fmt::format("{} {} {} {} {} {} {}", one.path, base::to_rfc3339(one.start),
                                base::to_rfc3339(one.end), one.frames, one.bytes, one.open, one.kept));
  }
  return lines;
}

TEST_F(CheckTest, RebuildGetsTheSameSegmentsFromTheFilesAlone) {
  record_some(anvil);
  record_some(bobbin);
  ASSERT_EQ(store.set_kept(anvil, kNoon + seconds{12}, kNoon + seconds{13}, true).value(), 1u);
  const auto before_a = told(segments(anvil));
  const auto before_b = told(segments(bobbin));
  catalog.reset();
  for (const char* ending : {"", "-wal", "-shm"})
    std::filesystem::remove(folder.path() / (std::string{"catalog.db"} + ending));
  const auto report = rebuild(folder.path(), go_on);
  ASSERT_TRUE(report.has_value()) << report.error().text();
  EXPECT_EQ(report->cameras, 2u);
  EXPECT_EQ(report->frames, sent.size());
  catalog = Catalog::open(folder.path()).value();
  SegmentStore fresh{*catalog};
  const auto until = kNoon + minutes{60};
  EXPECT_EQ(told(fresh.between(anvil, kNoon, until).value()), before_a);
  EXPECT_EQ(told(fresh.between(bobbin, kNoon, until).value()), before_b);
  EXPECT_EQ(report->segments, before_a.size() + before_b.size());
  const auto settings = CameraStore{*catalog}.find(anvil);
  ASSERT_TRUE(settings.has_value());
  EXPECT_FALSE(settings->enabled);
  const auto strip = StripStore{*catalog}.between(anvil, kNoon, kNoon + seconds{29}).value();
  ASSERT_EQ(strip.steps.size(), 3u);
  for (const auto& step : strip.steps) {
    EXPECT_EQ(step.health, Health::live);
    EXPECT_GT(step.energy, 0);  // the test's square moves
  }
  EXPECT_TRUE(checked().damaged.empty());
}

TEST_F(CheckTest, RebuildSetsADamagedCatalogAsideAndMendsWhatACrashLeft) {
  record_some(anvil, 30);
  const auto all = segments(anvil);
  const auto last = file_of(all.back());
  std::filesystem::resize_file(last, std::filesystem::file_size(last) - 2000);
  catalog.reset();
  test::write_bytes(folder.path() / "catalog.db",
                    std::as_bytes(std::span{"certainly not a database at all, or is it"}));
  for (const char* ending : {"-wal", "-shm"})
    std::filesystem::remove(folder.path() / (std::string{"catalog.db"} + ending));
  const auto report = rebuild(folder.path(), go_on);
  ASSERT_TRUE(report.has_value()) << report.error().text();
  EXPECT_EQ(report->segments, all.size());
  std::size_t aside = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path()))
    aside += entry.path().filename().string().starts_with("catalog.db.damaged-") ? 1 : 0;
  EXPECT_EQ(aside, 1u);
  catalog = Catalog::open(folder.path()).value();
  EXPECT_TRUE(checked().damaged.empty());
}

TEST_F(CheckTest, RebuildBesideARecorderKeepsItsEntry) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 10, milliseconds{100});
  recorder.flush();
  const auto id = segments(anvil).at(0).id;
  ASSERT_TRUE(rebuild(folder.path(), go_on).has_value());
  record(recorder, anvil, 10, milliseconds{100});
  recorder.finish(anvil);
  recorder.flush();
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].id, id);
  EXPECT_EQ(all[0].frames, 20u);
  EXPECT_FALSE(all[0].open);
}

TEST_F(CheckTest, RebuildLeavesWhatIsBegunAndKeptMeanwhile) {
  auto chosen = options();
  chosen.segment_length = seconds{10};
  Recorder recorder{*catalog, chosen, clock};
  record(recorder, anvil, 30, milliseconds{500});
  recorder.flush();
  ASSERT_EQ(segments(anvil).size(), 2u);
  bool once = true;
  const auto meanwhile = [&](double) {
    if (std::exchange(once, false)) {
      record(recorder, anvil, 30, milliseconds{500});  // over a border
      recorder.flush();
      EXPECT_EQ(store.set_kept(anvil, kNoon, kNoon + seconds{1}, true).value(), 1u);
    }
    return true;
  };
  ASSERT_TRUE(rebuild(folder.path(), meanwhile).has_value());
  recorder.finish(anvil);
  recorder.flush();
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 3u);
  EXPECT_TRUE(all[0].kept);
  for (const auto& segment : all) EXPECT_FALSE(segment.open) << segment.path;
  EXPECT_EQ(recorded(anvil), sent);
}

TEST_F(CheckTest, RebuildDoesNotBringBackWhatRetentionTookMeanwhile) {
  record_some(anvil);
  const auto first = segments(anvil).at(0);
  bool once = true;
  const auto meanwhile = [&](double) {
    if (std::exchange(once, false)) {
      std::filesystem::remove(file_of(first));
      EXPECT_TRUE(store.remove(first.id));
    }
    return true;
  };
  ASSERT_TRUE(rebuild(folder.path(), meanwhile).has_value());
  EXPECT_FALSE(store.find(first.path).value().has_value());
  EXPECT_TRUE(checked().damaged.empty());
}

TEST_F(CheckTest, RebuildLeavesStripsThatAreKnown) {
  record_some(anvil);
  StripStore strips{*catalog};
  strips.put_later(anvil, kNoon, {77, Health::rough});
  strips.put_later(bobbin, kNoon, {0, Health::down});  // not recorded, so no file tells it
  ASSERT_TRUE(catalog->flush());
  ASSERT_TRUE(rebuild(folder.path(), go_on).has_value());
  const auto strip = strips.between(anvil, kNoon, kNoon + seconds{19}).value();
  EXPECT_EQ(strip.steps.at(0), (StripStep{77, Health::rough}));
  EXPECT_EQ(strip.steps.at(1).health, Health::live);
  EXPECT_EQ(strips.between(bobbin, kNoon, kNoon + seconds{9}).value().steps.at(0).health, Health::down);
}

TEST_F(CheckTest, MissingCatalogIsNotMadeAnewUnderARunningStation) {
  record_some(anvil);
  const auto station = HomeLock::take(folder.path());
  ASSERT_TRUE(station);
  std::filesystem::remove(folder.path() / "catalog.db");
  const auto refused = rebuild(folder.path(), go_on);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, base::ErrorCode::busy);
  EXPECT_FALSE(std::filesystem::exists(folder.path() / "catalog.db"));
}

TEST_F(CheckTest, StoppedRebuildChangesNothing) {
  record_some(anvil);
  const auto before = told(segments(anvil));
  auto stopped = rebuild(folder.path(), [](double) { return false; });
  ASSERT_FALSE(stopped.has_value());
  EXPECT_EQ(stopped.error().code, base::ErrorCode::cancelled);
  EXPECT_EQ(told(segments(anvil)), before);
}

}  // namespace
}  // namespace rookery::archive
