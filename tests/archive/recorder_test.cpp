// The recorder: what is taken is written, byte for byte; segments end where they should; no failure goes
// uncounted.
#include "archive/recorder.h"

#include "archive/segment_cut.h"
#include "tests/archive/archive_support.h"
#include "tests/support/eventually.h"

namespace rookery::archive {
namespace {

using rookery::test::eventually;
using std::chrono::minutes;
using test::bytes_of;
using test::expect_balanced;
using test::milliseconds;
using test::seconds;

class RecorderTest : public test::Hall {};

TEST_F(RecorderTest, WritesEveryFrameByteForByteUnderItsTime) {
  clock.pass(base::Microseconds{123'456});
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 40, base::Microseconds{100'300});
    recorder.flush();
    const auto counters = recorder.counters(anvil);
    EXPECT_EQ(counters.taken, 40u);
    EXPECT_EQ(counters.written, 40u);
    expect_balanced(counters);
  }
  EXPECT_EQ(recorded(anvil), sent);
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].path, "anvil/2026-03-01/120000.123Z.mkv");
  EXPECT_FALSE(all[0].open);
  EXPECT_EQ(all[0].frames, 40u);
  EXPECT_EQ(all[0].bytes, std::filesystem::file_size(file_of(all[0])));
  EXPECT_EQ(all[0].start, sent_at.front());
  EXPECT_EQ(all[0].end, sent_at.back());
  auto source = FileSource::open(file_of(all[0]));
  auto index = SegmentIndex::read(*source, "x");
  ASSERT_TRUE(index.has_value());
  EXPECT_TRUE(index->sealed());
  for (std::size_t i = 0; i < sent_at.size(); ++i) EXPECT_EQ(index->time_of(i), sent_at[i]) << i;
}

TEST_F(RecorderTest, CameraHasAnOpenEntryWhileItRecords) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  auto all = segments(anvil);
  ASSERT_EQ(all.size(), 1u);
  EXPECT_TRUE(all[0].open);
  EXPECT_EQ(all[0].frames, 3u);
  record(recorder, anvil, 3, milliseconds{100});
  recorder.finish(anvil);
  recorder.flush();
  all = segments(anvil);
  ASSERT_EQ(all.size(), 1u);
  EXPECT_FALSE(all[0].open);
  EXPECT_EQ(all[0].frames, 6u);
}

TEST_F(RecorderTest, CutsAtMultiplesOfTheSegmentLengthOnTheWallClock) {
  auto chosen = options();
  chosen.segment_length = seconds{60};
  clock.pass(seconds{57});
  {
    Recorder recorder{*catalog, chosen, clock};
    record(recorder, anvil, 65, seconds{1});
  }
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 3u);
  EXPECT_EQ(all[0].frames, 3u);
  EXPECT_EQ(all[1].frames, 60u);
  EXPECT_EQ(all[1].start, test::kNoon + seconds{60});
  EXPECT_EQ(all[2].frames, 2u);
  EXPECT_EQ(recorded(anvil), sent);
}

TEST_F(RecorderTest, NewPictureSizeBeginsANewSegment) {
  {
    Recorder recorder{*catalog, options(), clock};
    recorder.record(anvil, frame(64, 48));
    clock.pass(milliseconds{100});
    recorder.record(anvil, frame(80, 64));
  }
  EXPECT_EQ(segments(anvil).size(), 2u);
  EXPECT_EQ(recorded(anvil), sent);
}

TEST_F(RecorderTest, ClockSetBackOrForwardBeginsANewSegmentWithANameOfItsOwn) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 5, milliseconds{100});
    clock.set_wall(test::kNoon);  // back by half a second: within what slewing does
    record(recorder, anvil, 5, milliseconds{400});
    recorder.flush();
    EXPECT_EQ(segments(anvil).size(), 1u);
    clock.set_wall(test::kNoon);  // back by two and a half
    record(recorder, anvil, 5, milliseconds{100});
    clock.set_wall(test::kNoon + minutes{3});
    record(recorder, anvil, 5, milliseconds{100});
  }
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 3u);
  EXPECT_EQ(all[0].path, "anvil/2026-03-01/120000.000Z.mkv");
  EXPECT_EQ(all[1].path, "anvil/2026-03-01/120000.000Z-1.mkv");
  EXPECT_EQ(all[2].path, "anvil/2026-03-01/120300.000Z.mkv");
  EXPECT_EQ(recorded(anvil), sent);
}

TEST_F(RecorderTest, GapEndsTheSegmentSoThatTheCatalogShowsIt) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 20, milliseconds{100});
    clock.pass(seconds{20});
    record(recorder, anvil, 5, milliseconds{100});
  }
  const auto spans = store.spans(anvil, test::kNoon, test::kNoon + minutes{5}, seconds{5}).value();
  ASSERT_EQ(spans.size(), 2u);
  EXPECT_EQ(spans[0].to, test::kNoon + milliseconds{1900});
}

TEST_F(RecorderTest, SegmentOfASilentCameraIsClosedWithoutAFrameComing) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 20, milliseconds{100});
  recorder.flush();
  EXPECT_TRUE(segments(anvil)[0].open);
  clock.pass(seconds{30});
  recorder.flush();
  EXPECT_FALSE(segments(anvil)[0].open);
}

TEST_F(RecorderTest, SlowCameraIsNotCutAtEveryFrame) {
  auto chosen = options();
  {
    Recorder recorder{*catalog, chosen, clock};
    record(recorder, anvil, 10, seconds{50});
  }
  EXPECT_EQ(segments(anvil).size(), 1u);
  EXPECT_EQ(recorded(anvil), sent);
}

TEST_F(RecorderTest, BurstOfFramesKeepsItsOrder) {
  {
    Recorder recorder{*catalog, options(), clock};
    for (int i = 0; i < 5; ++i) recorder.record(anvil, frame());  // all in one millisecond
  }
  EXPECT_EQ(recorded(anvil), sent);
  auto source = FileSource::open(file_of(segments(anvil)[0]));
  const auto index = SegmentIndex::read(*source, "x");
  for (std::size_t i = 0; i < 5; ++i) EXPECT_EQ(index->frames()[i].at_ms, static_cast<int>(i));
}

// Whichever write fails for good, what counts as written is in the files, and all is counted.
TEST_F(RecorderTest, AnyWriteMayFailAndTheRestIsRecorded) {
  for (int nth = 1; nth <= 8; ++nth) {
    const auto camera = test::name(fmt::format("anvil-{}", nth));
    sent.clear();
    RecorderCounters counters;
    {
      Recorder recorder{*catalog, options(), clock};
      recorder.record(camera, frame());
      recorder.flush();
      disk.fail_write(nth, EIO);
      record(recorder, camera, 7, milliseconds{100});
      recorder.flush();
      counters = recorder.counters(camera);
    }
    disk.recover();
    // One failing write costs nothing: the frame goes into the next segment.
    EXPECT_EQ(counters.written, 8u) << nth;
    expect_balanced(counters);
    EXPECT_EQ(recorded(camera), sent) << nth;
    for (const auto& segment : segments(camera)) {
      EXPECT_FALSE(segment.open);
      EXPECT_EQ(segment.bytes, std::filesystem::file_size(file_of(segment)));
    }
    clock.pass(minutes{1});
  }
}

TEST_F(RecorderTest, BrokenDiskLosesFramesByCountAndRecordingGoesOnAfterIt) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  disk.fail_write(1, EIO, true);
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  auto counters = recorder.counters(anvil);
  EXPECT_EQ(counters.written, 3u);
  EXPECT_EQ(counters.lost, 3u);
  expect_balanced(counters);
  disk.recover();
  clock.pass(seconds{2});
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  counters = recorder.counters(anvil);
  EXPECT_EQ(counters.written, 6u);
  const std::vector<test::Bytes> kept{sent[0], sent[1], sent[2], sent[6], sent[7], sent[8]};
  EXPECT_EQ(recorded(anvil), kept);
}

TEST_F(RecorderTest, FullDiskHoldsFramesUntilThereIsRoom) {
  auto chosen = options();
  chosen.queue_most_bytes = 40'000;
  Recorder recorder{*catalog, chosen, clock};
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  keep_all(anvil);  // or it would go to make room
  disk.fail_write(1, ENOSPC, true);
  record(recorder, anvil, 5, milliseconds{100});
  recorder.flush();  // returns although nothing can be written
  auto counters = recorder.counters(anvil);
  expect_balanced(counters);
  EXPECT_EQ(counters.written, 3u);
  EXPECT_EQ(counters.queued, 5u);
  EXPECT_EQ(counters.lost, 0u);
  record(recorder, anvil, 60, milliseconds{100});  // more than the queue takes
  counters = recorder.counters(anvil);
  expect_balanced(counters);
  EXPECT_GT(counters.lost, 0u);
  disk.recover();
  // The writer tries again by itself; once it has, a flush has something to wait for.
  const auto deadline = std::chrono::steady_clock::now() + seconds{20};
  while (recorder.counters(anvil).queued > 0 && std::chrono::steady_clock::now() < deadline) recorder.flush();
  counters = recorder.counters(anvil);
  EXPECT_EQ(counters.queued, 0u);
  expect_balanced(counters);
  EXPECT_EQ(counters.written + counters.lost, 68u);
  recorder.flush();
  const auto frames = recorded(anvil);
  ASSERT_EQ(frames.size(), counters.written);
  // The queue keeps the oldest, so what is recorded is what was sent first.
  EXPECT_TRUE(std::equal(frames.begin(), frames.end(), sent.begin()));
}

TEST_F(RecorderTest, EndsWhileTheDiskIsFullAndMendsWhatIsThere) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 3, milliseconds{100});
    recorder.flush();
    keep_all(anvil);
    disk.fail_write(1, ENOSPC, true);
    record(recorder, anvil, 2, milliseconds{100});
  }
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 1u);
  EXPECT_FALSE(all[0].open);
  EXPECT_EQ(recorded(anvil), (std::vector<test::Bytes>{sent[0], sent[1], sent[2]}));
}

// As under a quota: the disk refuses what it says it has room for.
TEST_F(RecorderTest, WhereTheDiskRefusesTheOldestGoesWhateverItSaysIsFree) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 3, milliseconds{100});
  recorder.finish(anvil);
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  ASSERT_EQ(segments(anvil).size(), 2u);
  disk.fill_until_removed();
  record(recorder, anvil, 1, milliseconds{100});
  ASSERT_TRUE(eventually([&] { return recorder.counters(anvil).written == 7; }));
  EXPECT_EQ(recorder.counters(anvil).lost, 0u);
  recorder.flush();
  EXPECT_EQ(recorded(anvil), (std::vector<test::Bytes>{sent.begin() + 3, sent.end()}));
}

TEST_F(RecorderTest, WhereNothingElseMayGoSegmentsInWorkAreEndedAndTheOldestGoes) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 3, milliseconds{100});
  recorder.finish(anvil);
  recorder.flush();
  keep_all(anvil);
  record(recorder, bobbin, 4, milliseconds{100});
  recorder.flush();
  disk.fill_until_removed();
  record(recorder, anvil, 1, milliseconds{100});
  ASSERT_TRUE(eventually([&] { return recorder.counters(anvil).written == 4; }));
  EXPECT_EQ(recorder.counters(anvil).lost + recorder.counters(bobbin).lost, 0u);
  recorder.flush();
  EXPECT_TRUE(segments(bobbin).empty());
  EXPECT_EQ(recorded(anvil), (std::vector<test::Bytes>{sent[0], sent[1], sent[2], sent[7]}));
  record(recorder, bobbin, 1, milliseconds{100});
  recorder.flush();
  EXPECT_EQ(recorded(bobbin), (std::vector<test::Bytes>{sent[8]}));
}

TEST_F(RecorderTest, ManyCamerasAtOnceStayApart) {
  std::vector<base::CameraName> cameras;
  for (int i = 0; i < 20; ++i) cameras.push_back(test::name(fmt::format("seat-{}", i)));
  std::vector<std::vector<test::Bytes>> expected(cameras.size());
  {
    Recorder recorder{*catalog, options(), clock};
    for (int round = 0; round < 10; ++round) {
      for (std::size_t i = 0; i < cameras.size(); ++i) {
        recorder.record(cameras[i], frame());
        expected[i].push_back(sent.back());
      }
      clock.pass(milliseconds{100});
    }
  }
  for (std::size_t i = 0; i < cameras.size(); ++i) EXPECT_EQ(recorded(cameras[i]), expected[i]) << i;
}

TEST(UsualInterval, GapFollowsTheCamera) {
  UsualInterval usual;
  EXPECT_EQ(usual.gap_limit(), seconds{60});
  for (int i = 0; i < 100; ++i) usual.add(milliseconds{100});
  EXPECT_EQ(usual.gap_limit(), seconds{5});
  for (int i = 0; i < 100; ++i) usual.add(seconds{10});
  EXPECT_GT(usual.gap_limit(), seconds{70});
}

}  // namespace
}  // namespace rookery::archive
