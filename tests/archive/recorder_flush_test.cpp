// What is on the medium when: at most a second is not, and the catalog says "closed" only of what is.
#include "archive/recorder.h"

#include "archive/upkeep.h"
#include "tests/archive/archive_support.h"
#include "tests/support/eventually.h"

namespace rookery::archive {
namespace {

using rookery::test::eventually;
using test::milliseconds;
using test::seconds;

class RecorderFlushTest : public test::Hall {
 protected:
  RecorderOptions short_segments() {
    auto chosen = options();
    chosen.segment_length = seconds{10};
    return chosen;
  }
  std::uint64_t written(const Recorder& recorder, const base::CameraName& camera) {
    return recorder.counters(camera).written;
  }
};

TEST_F(RecorderFlushTest, WhatIsWrittenIsFlushedWithinASecond) {
  Recorder recorder{*catalog, options(), clock};
  recorder.record(anvil, frame());
  ASSERT_TRUE(eventually([&] { return written(recorder, anvil) == 1; }));
  EXPECT_EQ(disk.syncs(), 0u);
  clock.pass(milliseconds{999});
  EXPECT_TRUE(eventually([&] { return disk.syncs() == 1; }));
  // Nothing new, nothing to flush; the next frame has its own second.
  clock.pass(seconds{3});
  recorder.record(anvil, frame());
  ASSERT_TRUE(eventually([&] { return written(recorder, anvil) == 2; }));
  clock.pass(milliseconds{999});
  EXPECT_TRUE(eventually([&] { return disk.syncs() == 2; }));
}

TEST_F(RecorderFlushTest, StalledFlushHoldsUpNoFrameNotEvenWhereASegmentEnds) {
  Recorder recorder{*catalog, short_segments(), clock};
  record(recorder, anvil, 5, seconds{1});
  recorder.flush();
  rookery::test::FailingDisk::Stall stall{disk};
  record(recorder, anvil, 10, seconds{1});  // over a border
  record(recorder, bobbin, 5, seconds{1});
  EXPECT_TRUE(eventually([&] { return written(recorder, anvil) == 15 && written(recorder, bobbin) == 5; }));
  EXPECT_EQ(segments(anvil).size(), 2u);
}

TEST_F(RecorderFlushTest, CatalogCallsClosedOnlyWhatIsFlushed) {
  Recorder recorder{*catalog, short_segments(), clock};
  record(recorder, anvil, 5, seconds{1});
  recorder.flush();
  rookery::test::FailingDisk::Stall stall{disk};
  record(recorder, anvil, 8, seconds{1});
  ASSERT_TRUE(eventually([&] { return written(recorder, anvil) == 13; }));
  ASSERT_TRUE(eventually([&] { return segments(anvil).size() == 2; }));
  EXPECT_TRUE(segments(anvil)[0].open);
  stall.end();
  clock.pass(seconds{1});  // the next flush is due
  EXPECT_TRUE(eventually([&] { return !segments(anvil)[0].open; }));
}

TEST_F(RecorderFlushTest, SegmentThatCouldNotBeFlushedStaysOpenForTheNextStart) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 5, milliseconds{100});
    disk.syncs_fail = true;
  }
  ASSERT_EQ(segments(anvil).size(), 1u);
  EXPECT_TRUE(segments(anvil)[0].open);
  ASSERT_TRUE(mend(*catalog).has_value());
  EXPECT_FALSE(segments(anvil)[0].open);
}

TEST_F(RecorderFlushTest, LateFlushesAreCounted) {
  Recorder recorder{*catalog, options(), clock};
  recorder.record(anvil, frame());
  ASSERT_TRUE(eventually([&] { return written(recorder, anvil) == 1; }));
  rookery::test::FailingDisk::Stall stall{disk};
  clock.pass(milliseconds{800});
  ASSERT_TRUE(eventually([&] { return disk.syncs() == 1; }));
  EXPECT_EQ(recorder.late_flushes().flushes, 0u);
  recorder.record(anvil, frame());
  ASSERT_TRUE(eventually([&] { return written(recorder, anvil) == 2; }));
  clock.pass(milliseconds{2500});
  stall.end();
  ASSERT_TRUE(eventually([&] { return recorder.late_flushes().flushes == 1; }));
  EXPECT_EQ(recorder.late_flushes().longest, milliseconds{2500});
}

TEST_F(RecorderFlushTest, PausesBetweenPicturesAreNoLateFlushes) {
  Recorder recorder{*catalog, options(), clock};
  for (std::uint64_t i = 1; i <= 2; ++i) {
    recorder.record(anvil, frame());
    ASSERT_TRUE(eventually([&] { return written(recorder, anvil) == i; }));
    clock.pass(milliseconds{999});
    ASSERT_TRUE(eventually([&] { return disk.syncs() == i; }));
    clock.pass(seconds{30});
  }
  const auto before = disk.writes();
  clock.pass(options().segment_length);
  ASSERT_TRUE(eventually([&] { return disk.writes() > before; }));  // a border ends the segment
  clock.pass(milliseconds{999});
  ASSERT_TRUE(eventually([&] { return !segments(anvil)[0].open; }));
  EXPECT_EQ(recorder.late_flushes().flushes, 0u);
}

}  // namespace
}  // namespace rookery::archive
