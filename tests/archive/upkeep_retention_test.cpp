// Retention: oldest first, nothing kept, and recording goes on when the disk is really full.
#include <cerrno>

#include <sys/mount.h>
#include <unistd.h>

#include "archive/camera_store.h"
#include "archive/upkeep.h"
#include "tests/archive/archive_support.h"

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
  std::vector<std::string> paths(const base::CameraName& camera) {
    std::vector<std::string> all;
    for (const auto& segment : segments(camera)) {
      all.push_back(segment.path);
      EXPECT_TRUE(std::filesystem::exists(file_of(segment))) << segment.path;
    }
    return all;
  }
};

TEST_F(RetentionTest, RemovesByAgeOnlyWhatIsOlder) {
  fill(anvil, 5);
  camera::Settings settings{anvil};
  settings.stream_address = "http://127.0.0.1/stream";
  settings.keep_for = hours{1};
  ASSERT_TRUE(CameraStore{*catalog}.add(settings).has_value());
  clock.set_wall(test::kNoon + hours{1} + minutes{2});
  const auto report = run_retention(*catalog, 0, clock).value();
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
  const auto report = run_retention(*catalog, 0, clock).value();
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
  const auto report = run_retention(*catalog, wanted, clock, disk).value();
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
  ASSERT_TRUE(run_retention(*catalog, 1'000'000'000, clock, disk).has_value());
  EXPECT_EQ(paths(anvil), (std::vector<std::string>{a[0].path}));
}

TEST_F(RetentionTest, NeverTakesTheSegmentThatIsBeingWritten) {
  Recorder recorder{*catalog, options(), clock};
  record(recorder, anvil, 5, milliseconds{100});
  recorder.flush();
  disk.pretended_free_bytes = 1;
  const auto report = run_retention(*catalog, 1'000'000'000, clock, disk).value();
  EXPECT_EQ(report.removed, 0u);
  EXPECT_EQ(paths(anvil).size(), 1u);
}

TEST_F(RetentionTest, EntryWhoseFileIsGoneIsForgotten) {
  fill(anvil, 2);
  std::filesystem::remove(file_of(segments(anvil)[0]));
  disk.pretended_free_bytes = 1;
  const auto report = run_retention(*catalog, 1'000'000'000, clock, disk).value();
  EXPECT_EQ(report.removed, 1u);  // the other one
  EXPECT_TRUE(segments(anvil).empty());
}

// A file system of fixed size, mounted for one test.
class SmallDisk {
 public:
  explicit SmallDisk(const std::filesystem::path& at) : at_(at) {
    mounted_ = ::mount("tmpfs", at_.c_str(), "tmpfs", 0, "size=12m") == 0;
    if (!mounted_) why_ = std::system_category().message(errno);
  }
  ~SmallDisk() {
    if (mounted_) ::umount2(at_.c_str(), MNT_DETACH);
  }
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;
  bool mounted() const { return mounted_; }
  const std::string& why() const { return why_; }

 private:
  std::filesystem::path at_;
  bool mounted_ = false;
  std::string why_;
};

// Waits until nothing is queued; flush() alone returns while the disk is full.
void settle(Recorder& recorder, const base::CameraName& camera) {
  const auto deadline = std::chrono::steady_clock::now() + seconds{30};
  do {
    recorder.flush();
    std::this_thread::yield();
  } while (recorder.counters(camera).queued > 0 && std::chrono::steady_clock::now() < deadline);
}

TEST(FullDisk, RecordingGoesOnTheOldestGoesFirstAndNothingKeptGoes) {
  const rookery::test::TempFolder mount_point;
  const SmallDisk small{mount_point.path()};
  if (!small.mounted()) GTEST_SKIP() << "cannot mount a tmpfs (needs root): " << small.why();
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
