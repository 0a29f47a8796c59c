// Retention: oldest first, nothing kept, and recording goes on when the disk is really full.
#include <cerrno>

#include <atomic>
#include <set>
#include <thread>

#include "archive/camera_store.h"
#include "archive/retention.h"
#include "tests/archive/archive_support.h"
#include "tests/support/small_disk.h"

namespace rookery::archive {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using test::expect_balanced;
using test::milliseconds;
using test::seconds;

class RetentionTest : public test::Hall {
 protected:
  // `count` segments of one camera, one a minute, each with five frames.
  void fill(const base::CameraName& camera, int count) {
    auto chosen = options();
    chosen.segment_length = seconds{60};
    Recorder recorder{*catalog, chosen, clock};
    for (int i = 0; i < count; ++i) {
      record(recorder, camera, 5, milliseconds{100});
      clock.pass(seconds{60} - milliseconds{500});
      recorder.flush();
    }
  }
  // Made when it is first asked for: the disk and the clock are as the test has set them by then.
  Retention& retention() {
    if (!retention_) retention_ = std::make_unique<Retention>(*catalog, clock, disk);
    return *retention_;
  }
  // `camera` with its recordings kept for so long.
  void keep_for(const base::CameraName& camera, hours span) {
    camera::Settings settings{camera};
    settings.stream_address = "http://127.0.0.1/" + camera.text();
    settings.keep_for = span;
    ASSERT_TRUE(CameraStore{*catalog}.add(settings).has_value());
  }
  std::vector<std::string> paths(const base::CameraName& camera) {
    std::vector<std::string> all;
    for (const auto& segment : segments(camera)) {
      all.push_back(segment.path);
      EXPECT_TRUE(std::filesystem::exists(file_of(segment))) << segment.path;
    }
    return all;
  }

 private:
  std::unique_ptr<Retention> retention_;
};

TEST_F(RetentionTest, RemovesByAgeOnlyWhatIsOlder) {
  fill(anvil, 5);
  keep_for(anvil, hours{1});
  EXPECT_EQ(retention().run(0).value().removed, 0u);
  clock.pass(test::kNoon + hours{1} + minutes{2} - clock.wall());
  const auto report = retention().run(0).value();
  EXPECT_EQ(report.removed, 2u);
  EXPECT_EQ(paths(anvil).size(), 3u);
}

TEST_F(RetentionTest, RemovesByBytesOfOneCameraAndLeavesOthers) {
  fill(anvil, 5);
  fill(bobbin, 5);
  camera::Settings settings{anvil};
  settings.stream_address = "http://127.0.0.1/stream";
  const auto all = segments(anvil);
  settings.keep_bytes = all[3].bytes + all[4].bytes;
  ASSERT_TRUE(CameraStore{*catalog}.add(settings).has_value());
  const auto report = retention().run(0).value();
  EXPECT_EQ(report.removed, 3u);
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{all[3].path, all[4].path}));
  EXPECT_EQ(paths(bobbin).size(), 5u);
}

TEST_F(RetentionTest, FreesSpaceOldestFirstAcrossCamerasButNothingKept) {
  fill(anvil, 3);
  fill(bobbin, 3);
  const auto a = segments(anvil);
  const auto b = segments(bobbin);
  ASSERT_TRUE(store.set_kept(anvil, a[0].start, a[0].end, true).has_value());
  // The disk pretends to have too little for two segments.
  disk.pretended_free_bytes = 1'000'000;
  const auto wanted = 1'000'000 + a[1].bytes + a[2].bytes / 2;
  const auto report = retention().run(wanted).value();
  EXPECT_EQ(report.removed, 2u);
  EXPECT_EQ(report.bytes, a[1].bytes + a[2].bytes);
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{a[0].path}));
  EXPECT_EQ(paths(bobbin).size(), 3u);
}

TEST_F(RetentionTest, MarkBesideTheFileProtectsEvenWhenTheCatalogForgot) {
  fill(anvil, 2);
  const auto a = segments(anvil);
  test::write_bytes(file_of(a[0]).string() + ".kept", {});
  disk.pretended_free_bytes = 1;
  ASSERT_TRUE(retention().run(1'000'000'000).has_value());
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{a[0].path}));
}

TEST_F(RetentionTest, NeverTakesTheSegmentThatIsBeingWritten) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 5, milliseconds{100});
  recorder.flush();
  disk.pretended_free_bytes = 1;
  const auto report = retention().run(1'000'000'000).value();
  EXPECT_EQ(report.removed, 0u);
  EXPECT_EQ(paths(anvil).size(), 1u);
}

TEST_F(RetentionTest, EntryWhoseFileIsGoneIsForgotten) {
  fill(anvil, 2);
  std::filesystem::remove(file_of(segments(anvil)[0]));
  disk.pretended_free_bytes = 1;
  const auto report = retention().run(1'000'000'000).value();
  EXPECT_EQ(report.removed, 1u);  // the other one
  EXPECT_TRUE(segments(anvil).empty());
}

TEST_F(RetentionTest, AClockThatJumpsAheadLetsNothingGoEarly) {
  fill(anvil, 5);
  keep_for(anvil, hours{24});
  EXPECT_EQ(retention().run(0).value().removed, 0u);
  clock.set_wall(clock.wall() + hours{24 * 365 * 20});
  for (int minute = 0; minute < 60; ++minute) {
    clock.pass(minutes{1});
    EXPECT_EQ(retention().run(0).value().removed, 0u);
  }
  EXPECT_EQ(paths(anvil).size(), 5u);
  EXPECT_TRUE(retention().age()->worth_saying());
  // Set right again, it is as if nothing had been.
  clock.set_wall(clock.wall() - hours{24 * 365 * 20});
  EXPECT_EQ(retention().run(0).value().removed, 0u);
  EXPECT_FALSE(retention().age()->worth_saying());
  clock.pass(hours{25});
  EXPECT_EQ(retention().run(0).value().removed, 5u);
}

TEST_F(RetentionTest, AJumpWhileTheStationWasStoppedLetsNothingGoEarlyEither) {
  fill(anvil, 5);
  keep_for(anvil, hours{24});
  ASSERT_TRUE(Retention(*catalog, clock, disk).run(0).has_value());
  ASSERT_TRUE(catalog->flush());
  clock.set_wall(clock.wall() + hours{24 * 21});
  Retention after(*catalog, clock, disk);
  EXPECT_EQ(after.run(0).value().removed, 0u);
  EXPECT_TRUE(after.age()->worth_saying());
  // The date was right: a person says so, and ages count by it.
  ASSERT_TRUE(after.confirm_clock().has_value());
  EXPECT_FALSE(after.age()->worth_saying());
  EXPECT_EQ(after.run(0).value().removed, 5u);
}

TEST_F(RetentionTest, AConfirmationByAnotherProcessIsTakenUp) {
  fill(anvil, 5);
  keep_for(anvil, hours{24});
  EXPECT_EQ(retention().run(0).value().removed, 0u);
  clock.set_wall(clock.wall() + hours{24 * 21});
  EXPECT_EQ(retention().run(0).value().removed, 0u);
  ASSERT_TRUE(AgeStore(*catalog).confirm(clock.wall()).has_value());
  EXPECT_EQ(retention().run(0).value().removed, 5u);
}

TEST_F(RetentionTest, AfterWeeksOffAgeActsAgainByItselfButNothingKeptGoes) {
  fill(anvil, 5);
  keep_for(anvil, hours{24});
  const auto all = segments(anvil);
  ASSERT_TRUE(store.set_kept(anvil, all[0].start, all[0].end, true).has_value());
  ASSERT_TRUE(Retention(*catalog, clock, disk).run(0).has_value());
  ASSERT_TRUE(catalog->flush());
  clock.set_wall(clock.wall() + hours{24 * 21});
  std::size_t removed = 0;
  int days = 0;
  for (; removed < 4 && days < 40; ++days) {
    clock.pass(hours{24});
    removed += retention().run(0).value().removed;
  }
  EXPECT_EQ(removed, 4u);
  EXPECT_LE(days, 31);
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{all[0].path}));
}

TEST_F(RetentionTest, AnUnmarkedCatalogWithOldRecordingsIsCarefulToo) {
  fill(anvil, 5);
  keep_for(anvil, hours{24});
  clock.set_wall(clock.wall() + hours{24 * 365});
  EXPECT_EQ(retention().run(0).value().removed, 0u);  // as after a rebuild: only the recordings tell the time
  EXPECT_TRUE(retention().age()->worth_saying());
}

// Some files of a broken disk can be read, but not deleted.
class StubbornDisk final : public Disk {
 public:
  std::set<std::string> stubborn;  // file names
  std::uint64_t free_bytes = 0;
  std::function<void()> before_remove;

  base::Result<std::unique_ptr<DiskFile>> create(const std::filesystem::path& file) override {
    return real_disk().create(file);
  }
  base::Result<void> remove(const std::filesystem::path& file) override {
    if (before_remove) before_remove();
    if (stubborn.contains(file.filename().string())) return disk_error(file.string() + ": delete", EIO);
    return real_disk().remove(file);
  }
  base::Result<DiskSpace> space(const std::filesystem::path& folder) override {
    auto space = real_disk().space(folder);
    if (space) space->free_bytes = free_bytes;
    return space;
  }
  base::Result<void> sync_folder(const std::filesystem::path&) override { return base::ok(); }
  base::Result<void> sync_all(const std::filesystem::path&) override { return base::ok(); }
};

TEST_F(RetentionTest, AFileThatCannotBeDeletedCountsAsNotFreed) {
  fill(anvil, 4);
  const auto a = segments(anvil);
  StubbornDisk broken;
  broken.stubborn = {file_of(a[0]).filename().string(), file_of(a[1]).filename().string()};
  const auto report = Retention(*catalog, clock, broken).run(a[2].bytes).value();
  EXPECT_EQ(report.removed, 1u);
  EXPECT_EQ(report.missing_bytes, 0u);
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{a[0].path, a[1].path, a[3].path}));
}

TEST_F(RetentionTest, AFileThatCannotBeDeletedIsNotTakenOutOfItsCamerasSum) {
  fill(anvil, 4);
  const auto a = segments(anvil);
  camera::Settings settings{anvil};
  settings.stream_address = "http://127.0.0.1/stream";
  settings.keep_bytes = a[0].bytes + a[1].bytes + a[2].bytes + a[3].bytes - 1;
  ASSERT_TRUE(CameraStore{*catalog}.add(settings).has_value());
  StubbornDisk broken;
  broken.stubborn = {file_of(a[0]).filename().string()};
  EXPECT_EQ(Retention(*catalog, clock, broken).run(0).value().removed, 1u);
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{a[0].path, a[2].path, a[3].path}));
}

TEST_F(RetentionTest, AnEntryWithoutAFileFreesNothing) {
  fill(anvil, 3);
  const auto a = segments(anvil);
  std::filesystem::remove(file_of(a[0]));
  StubbornDisk small;
  const auto report = Retention(*catalog, clock, small).run(a[1].bytes).value();
  EXPECT_EQ(report.removed, 1u);
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{a[2].path}));
}

TEST_F(RetentionTest, WhatIsMissingIsSaidWhenNothingMoreMayGo) {
  fill(anvil, 2);
  const auto a = segments(anvil);
  ASSERT_TRUE(store.set_kept(anvil, a[0].start, a[1].end, true).has_value());
  StubbornDisk small;
  small.free_bytes = 1000;
  EXPECT_EQ(Retention(*catalog, clock, small).run(5000).value().missing_bytes, 4000u);
}

// The watch over the space and a recorder that needs room come at the same moment.
TEST_F(RetentionTest, OneRoundAtATime) {
  fill(anvil, 6);
  const auto a = segments(anvil);
  StubbornDisk small;
  std::atomic<int> inside{0};
  std::atomic<int> most{0};
  small.before_remove = [&] {
    const int now = ++inside;
    most = std::max(most.load(), now);
    for (int i = 0; i < 1000; ++i) std::this_thread::yield();
    --inside;
  };
  Retention both(*catalog, clock, small);
  std::atomic<std::size_t> removed{0};
  {
    std::vector<std::jthread> threads;
    for (int i = 0; i < 3; ++i)
      threads.emplace_back([&] { removed += both.run(a[0].bytes + a[1].bytes).value().removed; });
  }
  EXPECT_EQ(most, 1);
  EXPECT_EQ(removed, 6u);  // the disk always says that it is empty, so each round takes two more
}

// Waits until nothing is queued; flush() alone returns while the disk is full.
void settle(Recorder& recorder, const base::CameraName& camera) {
  const auto deadline = std::chrono::steady_clock::now() + seconds{30};
  do {
    recorder.flush();
    std::this_thread::yield();
  } while (recorder.counters(camera).queued > 0 && std::chrono::steady_clock::now() < deadline);
}

TEST(FullDisk, RecordingGoesOnTheOldestGoesFirstAndNothingKeptGoes) {
  ROOKERY_NEEDS_SMALL_DISK();
  const support::SmallDisk mount_point{12u << 20};
  ASSERT_TRUE(mount_point.mounted()) << mount_point.refusal();
  rookery::test::HandClock clock;
  auto catalog = Catalog::open(mount_point.path() / "home").value();
  SegmentStore store{*catalog};
  const auto anvil = test::name("anvil");
  RecorderOptions options;
  options.segment_length = seconds{10};
  options.keep_free_bytes = 0;  // so that the disk gets really full before retention comes
  options.queue_most_bytes = 4u << 20;
  options.retry_every = milliseconds{5};
  const auto picture = rookery::test::make_picture(640, 480, 1, 95);
  constexpr std::uint64_t kFrames = 1500;  // several times what fits
  ASSERT_GT(picture.size() * kFrames, 3 * 12u << 20);
  std::string kept_path;
  RecorderCounters counters;
  {
    Recorder recorder{*catalog, options, clock};
    for (std::uint64_t i = 0; i < kFrames; ++i) {
      recorder.record(anvil, std::make_shared<const camera::Frame>(picture, clock.wall(), clock.mono(), i + 1,
                                                                   camera::PixelSize{640, 480}));
      clock.pass(milliseconds{200});
      if (i % 20 == 19) settle(recorder, anvil);
      if (i == 119) {
        // The second segment is what somebody wants to keep.
        const auto at = test::kNoon + seconds{15};
        EXPECT_EQ(store.set_kept(anvil, at, at, true).value(), 1u);
        kept_path = store.between(anvil, at, at).value().at(0).path;
      }
    }
    settle(recorder, anvil);
    counters = recorder.counters(anvil);
  }
  EXPECT_EQ(counters.lost, 0u);
  EXPECT_EQ(counters.written, kFrames);
  expect_balanced(counters);
  catalog->flush();
  const auto left = store.between(anvil, {}, clock.wall()).value();
  ASSERT_GE(left.size(), 3u);
  EXPECT_EQ(left[0].path, kept_path);
  EXPECT_TRUE(left[0].kept);
  // Without the kept one, what is left is the newest in a row.
  for (std::size_t i = 2; i < left.size(); ++i) EXPECT_EQ(left[i].start - left[i - 1].start, seconds{10});
  EXPECT_EQ(left.back().end, clock.wall() - milliseconds{200});
  for (const auto& segment : left) {
    auto source = FileSource::open(mount_point.path() / "home" / "archive" / segment.path);
    ASSERT_TRUE(source.has_value());
    auto index = SegmentIndex::read(*source, segment.path);
    ASSERT_TRUE(index.has_value()) << index.error().text();
    EXPECT_TRUE(index->sealed());
    EXPECT_EQ(index->frames().size(), segment.frames);
    for (const auto& frame : index->frames()) EXPECT_EQ(read_frame(*source, frame).value(), picture);
  }
}

}  // namespace
}  // namespace rookery::archive
