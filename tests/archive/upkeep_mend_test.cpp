// After a crash: a recorder is killed at random moments; what it had written must be there, and only that.
#include <csignal>
#include <random>

#include <sys/wait.h>
#include <unistd.h>

#include "archive/mend.h"
#include "archive/upkeep.h"
#include "tests/archive/archive_support.h"
#include "tests/support/small_disk.h"

namespace rookery::archive {
namespace {

using test::Bytes;
using test::bytes_of;
using test::milliseconds;
using test::seconds;

class MendTest : public test::Hall {
 protected:
  // A segment as a crash leaves it: `count` whole frames, no end, and an open entry.
  Segment leave_open(int count) {
    Segment segment{anvil};
    segment.path = segment_path(anvil, clock.wall(), 0);
    segment.start = segment.end = clock.wall();
    segment.open = true;
    auto writer = test::begin_segment(file_of(segment), clock.wall());
    for (int i = 0; i < count; ++i) {
      const auto one = frame();
      EXPECT_TRUE(writer->add(milliseconds{i * 100}, one->view()).has_value());
    }
    segment.id = store.add(segment).value();
    return segment;
  }
};

TEST_F(MendTest, CleanStopCostsNothing) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 5, milliseconds{100});
  }
  const auto report = mend(*catalog).value();
  EXPECT_EQ(report.segments_looked_at, 0u);
  EXPECT_EQ(report.mended, 0u);
}

TEST_F(MendTest, TornAtEveryOffsetOfTheLastClusterKeepsTheOthers) {
  const Segment segment = leave_open(4);
  const Bytes all = bytes_of(file_of(segment));
  const auto whole = SegmentIndex::read(MemorySource{all}, "x");
  const auto third_end = whole->frames()[3].cluster;
  for (std::size_t length = third_end; length < all.size(); length += 7) {
    test::write_bytes(file_of(segment), std::span{all}.first(length));
    auto mended = mend_file(file_of(segment), MendLock::take);
    ASSERT_TRUE(mended.has_value()) << mended.error().text();
    ASSERT_EQ(mended->index.frames().size(), 3u);
    ASSERT_EQ(mended->bytes_cut, length - third_end);
    const Bytes now = bytes_of(file_of(segment));
    ASSERT_EQ(now.size(), third_end);
    const MemorySource source{now};
    const auto index = SegmentIndex::read(source, "x");
    ASSERT_TRUE(index->sealed());
    for (std::size_t i = 0; i < 3; ++i) ASSERT_EQ(read_frame(source, index->frames()[i]).value(), sent[i]);
  }
}

TEST_F(MendTest, ZerosInsteadOfTheLastFrameAreNoticedByTheChecksum) {
  const Segment segment = leave_open(4);
  Bytes all = bytes_of(file_of(segment));
  const auto last = SegmentIndex::read(MemorySource{all}, "x")->frames()[3];
  std::fill(all.begin() + static_cast<std::ptrdiff_t>(last.offset + 100), all.end(), std::byte{0});
  test::write_bytes(file_of(segment), all);
  const auto report = mend(*catalog).value();
  EXPECT_EQ(report.mended, 1u);
  EXPECT_EQ(report.bytes_cut, all.size() - last.cluster);
  const auto now = segments(anvil);
  ASSERT_EQ(now.size(), 1u);
  EXPECT_EQ(now[0].frames, 3u);
  EXPECT_EQ(now[0].end, now[0].start + milliseconds{200});
  EXPECT_FALSE(now[0].open);
}

TEST_F(MendTest, FileWithoutAWholeFrameIsSetAsideNotDeleted) {
  const Segment segment = leave_open(1);
  const Bytes all = bytes_of(file_of(segment));
  test::write_bytes(file_of(segment), std::span{all}.first(all.size() - 1));
  const auto report = mend(*catalog).value();
  EXPECT_EQ(report.set_aside, 1u);
  EXPECT_TRUE(segments(anvil).empty());
  EXPECT_FALSE(std::filesystem::exists(file_of(segment)));
  EXPECT_EQ(std::filesystem::file_size(file_of(segment).string() + ".damaged"), all.size() - 1);
}

TEST_F(MendTest, EntryWithoutAFileIsRemoved) {
  const Segment segment = leave_open(1);
  std::filesystem::remove(file_of(segment));
  ASSERT_TRUE(mend(*catalog).has_value());
  EXPECT_TRUE(segments(anvil).empty());
}

TEST_F(MendTest, FileBegunAfterTheOpenOneGetsItsEntry) {
  leave_open(2);
  clock.pass(std::chrono::hours{24});  // into the next day's folder
  const Segment stray = leave_open(3);
  ASSERT_TRUE(store.remove(stray.id).has_value());
  const auto report = mend(*catalog).value();
  EXPECT_EQ(report.mended, 2u);
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[1].path, stray.path);
  EXPECT_EQ(all[1].frames, 3u);
}

// The crash came before the catalog's thread had written the entry, and the segment before was closed
// already.
TEST_F(MendTest, FileBegunAfterTheNewestEntryGetsItsEntry) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 5, milliseconds{100});
  }
  clock.pass(seconds{30});
  const Segment stray = leave_open(3);
  ASSERT_TRUE(store.remove(stray.id).has_value());
  ASSERT_TRUE(store.still_open().value().empty());
  EXPECT_EQ(mend(*catalog).value().mended, 1u);
  ASSERT_EQ(segments(anvil).size(), 2u);
  EXPECT_EQ(segments(anvil)[1].path, stray.path);
}

TEST_F(MendTest, FirstFileOfACameraGetsItsEntry) {
  const Segment stray = leave_open(3);
  ASSERT_TRUE(store.remove(stray.id).has_value());
  EXPECT_EQ(mend(*catalog).value().mended, 1u);
  ASSERT_EQ(segments(anvil).size(), 1u);
}

TEST_F(MendTest, ArchiveThatTheCatalogDoesNotKnowAtAllIsLeftToRebuild) {
  for (int i = 0; i < 6; ++i) {
    ASSERT_TRUE(store.remove(leave_open(2).id).has_value());
    clock.pass(seconds{30});
  }
  EXPECT_EQ(mend(*catalog).value().segments_looked_at, 0u);
  EXPECT_TRUE(segments(anvil).empty());
}

TEST_F(MendTest, OneBadFrameLongBeforeTheEndCostsNoOther) {
  const Segment segment = leave_open(200);  // 20 s
  Bytes all = bytes_of(file_of(segment));
  const auto bad = SegmentIndex::read(MemorySource{all}, "x")->frames()[100];
  all[bad.offset + bad.size_bytes / 2] ^= std::byte{0x10};
  all.resize(all.size() - 10);  // and a torn end
  test::write_bytes(file_of(segment), all);
  ASSERT_EQ(mend(*catalog).value().mended, 1u);
  EXPECT_EQ(segments(anvil).at(0).frames, 199u);
}

TEST_F(MendTest, SegmentThatAnotherProcessWritesIsLeftAlone) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 5, milliseconds{100});
  recorder.flush();
  const auto before = bytes_of(file_of(segments(anvil)[0]));
  const auto report = mend(*catalog).value();  // locks are per open file, so this process stands for another
  EXPECT_EQ(report.mended, 0u);
  EXPECT_TRUE(segments(anvil)[0].open);
  EXPECT_EQ(bytes_of(file_of(segments(anvil)[0])), before);
}

TEST_F(MendTest, MendedFileSaysItsDuration) {
  const Segment segment = leave_open(4);
  ASSERT_TRUE(mend(*catalog).has_value());
  const Bytes all = bytes_of(file_of(segment));
  // Duration: ID 0x4489, length 8, 400 ms as a double (three steps and the last frame's own).
  const std::array<unsigned char, 11> wanted{0x44, 0x89, 0x88, 0x40, 0x79, 0, 0, 0, 0, 0, 0};
  const auto* first = reinterpret_cast<const std::byte*>(wanted.data());
  EXPECT_NE(std::search(all.begin(), all.end(), first, first + wanted.size()), all.end());
}

// What the child reports after a flush must be in the file after the kill; what is in the file is what was
// sent.
void record_until_killed(const std::filesystem::path& home, int report, unsigned seed) {
  auto catalog = Catalog::open(home).value();
  const base::SystemClock clock;
  RecorderOptions options;
  options.keep_free_bytes = 0;
  Recorder recorder{*catalog, options, clock};
  const auto anvil = test::name("anvil");
  for (unsigned number = 0;; ++number) {
    auto bytes = rookery::test::make_picture(96, 64, seed + number);
    recorder.record(anvil, std::make_shared<const camera::Frame>(std::move(bytes), clock.wall(), clock.mono(),
                                                                 number + 1, camera::PixelSize{96, 64}));
    if (number % 16 == 15) {
      recorder.flush();
      const unsigned safe = number + 1;
      if (::write(report, &safe, sizeof safe) != sizeof safe) ::_exit(1);
    }
  }
}

// Without a fixture: the process that forks must have no thread (ThreadSanitizer insists).
TEST(KilledRecorder, LosesNothingThatWasFlushedAndNothingElseAppears) {
  const auto anvil = test::name("anvil");
  std::mt19937 random{20260301};
  for (unsigned round = 0; round < 8; ++round) {
    const rookery::test::TempFolder home;
    std::array<int, 2> pipe{};
    ASSERT_EQ(::pipe(pipe.data()), 0);
    const unsigned seed = round * 1000;
    const pid_t child = ::fork();
    if (child == 0) record_until_killed(home.path(), pipe[1], seed);
    ::close(pipe[1]);
    // Killed a random number of reports in, and at a random point of the work that follows.
    unsigned safe = 0;
    for (unsigned reports = 1 + random() % 4; reports > 0; --reports)
      ASSERT_EQ(::read(pipe[0], &safe, sizeof safe), static_cast<ssize_t>(sizeof safe));
    for (volatile unsigned spin = random() % 3'000'000; spin > 0;) spin = spin - 1;
    ::kill(child, SIGKILL);
    ::waitpid(child, nullptr, 0);
    for (unsigned later = 0; ::read(pipe[0], &later, sizeof later) == sizeof later;) safe = later;
    ::close(pipe[0]);

    auto mended = Catalog::open(home.path()).value();
    ASSERT_TRUE(mend(*mended).has_value());
    std::vector<Bytes> found;
    const auto all =
        SegmentStore{*mended}.between(anvil, {}, base::SystemClock{}.wall() + seconds{60}).value();
    for (const auto& segment : all) {
      EXPECT_FALSE(segment.open);
      auto source = FileSource::open(archive_folder(home.path()) / segment.path);
      auto index = SegmentIndex::read(*source, segment.path);
      ASSERT_TRUE(index.has_value()) << index.error().text();
      EXPECT_TRUE(index->sealed());
      EXPECT_EQ(index->frames().size(), segment.frames);
      for (const auto& one : index->frames()) found.push_back(read_frame(*source, one).value());
    }
    EXPECT_GE(found.size(), safe);
    for (unsigned i = 0; i < found.size(); ++i)
      ASSERT_EQ(found[i], rookery::test::make_picture(96, 64, seed + i))
          << "round " << round << " frame " << i;
  }
}

TEST_F(MendTest, WhatIsPlannedLeavesAloneWhatIsBegunLater) {
  const Segment left = leave_open(2);
  auto plan = plan_mend(*catalog).value();
  ASSERT_EQ(plan.open.size(), 1u);
  EXPECT_TRUE(segments(anvil)[0].open);  // planning changes nothing
  clock.pass(seconds{10});
  leave_open(3);
  EXPECT_EQ(mend(*catalog, plan).value().mended, 1u);
  EXPECT_TRUE(plan.empty());
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[0].path, left.path);
  EXPECT_FALSE(all[0].open);
  EXPECT_TRUE(all[1].open);
}

TEST(MendOnAFullDisk, WhatHasNoRoomStaysPlannedAndIsDoneLater) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk{16u << 20};
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  const auto catalog = Catalog::open(disk.path()).value();
  SegmentStore store{*catalog};
  constexpr int kLeft = 400;
  // In one transaction, so that the log has little room of its own for the changes that come.
  ASSERT_TRUE(catalog
                  ->write([](SQLite::Database& db) {
                    for (int i = 0; i < kLeft; ++i) {
                      Segment segment{test::name("anvil")};
                      segment.start = segment.end = test::kNoon + seconds{i};
                      segment.path = segment_path(segment.camera, segment.start, 0);
                      segment.open = true;
                      SegmentStore::insert(db, segment);
                    }
                    return base::ok();
                  })
                  .has_value());
  auto plan = plan_mend(*catalog).value();
  ASSERT_EQ(plan.open.size(), static_cast<std::size_t>(kLeft));
  disk.fill();
  const auto mended = mend(*catalog, plan);
  ASSERT_FALSE(mended.has_value());
  EXPECT_EQ(mended.error().code, base::ErrorCode::disk_full);
  EXPECT_FALSE(plan.empty());
  disk.make_room();
  EXPECT_TRUE(mend(*catalog, plan).has_value());
  EXPECT_TRUE(plan.empty());
  EXPECT_TRUE(store.still_open().value().empty());  // there were no files: their entries are gone
  EXPECT_EQ(store.count().value(), 0u);
}

}  // namespace
}  // namespace rookery::archive
