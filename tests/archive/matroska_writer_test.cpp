// Segments: what is written can be read, frame by frame, at any moment and after any failure.
#include "archive/matroska_writer.h"

#include "archive/segment_index.h"
#include "tests/archive/matroska_support.h"
#include "tests/support/failing_disk.h"

namespace rookery::archive {
namespace {

using rookery::test::FailingDisk;
using rookery::test::make_picture;
using rookery::test::TempFolder;
using std::chrono::milliseconds;
using test::begin_segment;
using test::Bytes;
using test::bytes_of;
using test::kNoon;

// Checks that `index` holds exactly the first `count` of `frames`, byte for byte.
void expect_frames(const ByteSource& source, const SegmentIndex& index, const std::vector<Bytes>& frames,
                   std::size_t count) {
  ASSERT_EQ(index.frames().size(), count);
  for (std::size_t i = 0; i < count; ++i) {
    auto bytes = read_frame(source, index.frames()[i]);
    ASSERT_TRUE(bytes.has_value());
    EXPECT_EQ(*bytes, frames[i]) << "frame " << i;
    EXPECT_TRUE(cluster_sound(source, index.frames()[i].cluster));
  }
}

std::vector<Bytes> make_pictures(std::size_t count) {
  std::vector<Bytes> pictures;
  for (std::size_t i = 0; i < count; ++i) pictures.push_back(make_picture(64, 48, static_cast<unsigned>(i)));
  return pictures;
}

TEST(MatroskaWriter, GivesBackEveryFrameByteForByteWithItsTime) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  const auto pictures = make_pictures(50);
  const auto date = kNoon + milliseconds{250};
  {
    auto writer = begin_segment(file, date);
    for (std::size_t i = 0; i < pictures.size(); ++i)
      ASSERT_TRUE(writer->add(milliseconds{i * 101}, pictures[i]).has_value());
    ASSERT_TRUE(writer->finish().has_value());
    EXPECT_EQ(writer->bytes(), std::filesystem::file_size(file));
    EXPECT_EQ(writer->frames(), pictures.size());
  }
  auto source = FileSource::open(file);
  ASSERT_TRUE(source.has_value());
  auto index = SegmentIndex::read(*source, "a.mkv");
  ASSERT_TRUE(index.has_value()) << index.error().text();
  expect_frames(*source, *index, pictures, pictures.size());
  EXPECT_EQ(index->head().date, date);
  EXPECT_EQ(index->head().title, "anvil");
  EXPECT_EQ(index->head().size, (camera::PixelSize{64, 48}));
  EXPECT_TRUE(index->sealed());
  for (std::size_t i = 0; i < pictures.size(); ++i)
    EXPECT_EQ(index->time_of(i), date + milliseconds{i * 101});
}

TEST(MatroskaWriter, LargeFramesAndTwentyMinutesKeepTheirTimes) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  const Bytes large = make_picture(1600, 1200, 1, 95);
  const Bytes tiny = make_picture(16, 16, 2);
  auto writer = begin_segment(file);
  const std::vector<milliseconds> times = {milliseconds{0}, milliseconds{32767}, milliseconds{32768},
                                           milliseconds{65536}, milliseconds{1'200'000}};
  for (const auto at : times) ASSERT_TRUE(writer->add(at, at.count() % 2 == 0 ? large : tiny).has_value());
  auto source = FileSource::open(file);
  auto index = SegmentIndex::read(*source, "a.mkv");
  ASSERT_TRUE(index.has_value());
  ASSERT_EQ(index->frames().size(), times.size());
  for (std::size_t i = 0; i < times.size(); ++i) EXPECT_EQ(index->frames()[i].at_ms, times[i].count());
}

TEST(MatroskaWriter, EveryFrameIsInTheFileWhenAddReturns) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  const auto pictures = make_pictures(5);
  auto writer = begin_segment(file);
  EXPECT_EQ(std::filesystem::file_size(file), 0u);  // no head without a frame
  std::optional<SegmentIndex> index;
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    ASSERT_TRUE(writer->add(milliseconds{i * 100}, pictures[i]).has_value());
    auto source = FileSource::open(file);
    if (!index) {
      auto read = SegmentIndex::read(*source, "a.mkv");
      ASSERT_TRUE(read.has_value()) << read.error().text();
      index = std::move(read).value();
    } else {
      auto grown = index->extend(*source, "a.mkv");
      ASSERT_TRUE(grown.has_value()) << grown.error().text();
      EXPECT_EQ(*grown, 1u);
    }
    expect_frames(*source, *index, pictures, i + 1);
    EXPECT_FALSE(index->sealed());
    EXPECT_FALSE(index->torn());
  }
  ASSERT_TRUE(writer->finish().has_value());
  auto source = FileSource::open(file);
  auto grown = index->extend(*source, "a.mkv");
  ASSERT_TRUE(grown.has_value());
  EXPECT_EQ(*grown, 0u);
  EXPECT_TRUE(index->sealed());
}

TEST(MatroskaWriter, OneFrameIsOneWrite) {
  const TempFolder folder;
  FailingDisk disk;
  auto writer = begin_segment(folder.path() / "a.mkv", kNoon, {64, 48}, disk);
  const Bytes picture = make_picture(640, 480, 1, 95);
  for (int i = 0; i < 10; ++i) ASSERT_TRUE(writer->add(milliseconds{i * 100}, picture).has_value());
  EXPECT_EQ(disk.writes(), 10u);
}

// A power cut may leave any part of the last cluster; all before must survive, and nothing of it may appear.
TEST(MatroskaWriter, CutAnywhereInTheLastClusterTheOthersStay) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  const auto pictures = make_pictures(4);
  auto writer = begin_segment(file);
  for (std::size_t i = 0; i < 3; ++i)
    ASSERT_TRUE(writer->add(milliseconds{i * 100}, pictures[i]).has_value());
  const auto whole_three = writer->bytes();
  ASSERT_TRUE(writer->add(milliseconds{300}, pictures[3]).has_value());
  const Bytes all = bytes_of(file);
  for (std::size_t length = whole_three; length <= all.size(); ++length) {
    const MemorySource cut{std::span{all}.first(length)};
    auto index = SegmentIndex::read(cut, "cut");
    ASSERT_TRUE(index.has_value()) << length;
    const bool whole = length == all.size();
    ASSERT_EQ(index->frames().size(), whole ? 4u : 3u) << length;
    ASSERT_EQ(index->whole_bytes(), whole ? all.size() : whole_three);
    ASSERT_EQ(index->torn(), !whole && length != whole_three);
  }
  expect_frames(MemorySource{all}, *SegmentIndex::read(MemorySource{all}, "all"), pictures, 4);
}

TEST(MatroskaWriter, CutAnywhereInTheHeadIsAnErrorNotACrash) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  auto writer = begin_segment(file);
  ASSERT_TRUE(writer->add(milliseconds{0}, make_picture(64, 48, 1)).has_value());
  const Bytes all = bytes_of(file);
  const auto first = SegmentIndex::read(MemorySource{all}, "all")->frames()[0].cluster;
  for (std::size_t length = 0; length < first; ++length) {
    auto index = SegmentIndex::read(MemorySource{std::span{all}.first(length)}, "cut");
    if (index) {
      EXPECT_TRUE(index->frames().empty());
    } else {
      EXPECT_EQ(index.error().code, base::ErrorCode::malformed);
    }
  }
}

// Whichever write fails: what add() called done is in the file, the failed frame can be written again, and no
// byte is damaged.
TEST(MatroskaWriter, AnyWriteMayFailOnceAndNothingIsLost) {
  const auto pictures = make_pictures(6);
  for (int nth = 1; nth <= 12; ++nth) {
    const TempFolder folder;
    const auto file = folder.path() / "a.mkv";
    FailingDisk disk;
    auto writer = begin_segment(file, kNoon, {64, 48}, disk);
    disk.fail_write(nth, ENOSPC);
    std::size_t failures = 0;
    const auto settle = [&](base::Result<void> done) {
      if (done) return;
      ++failures;
      EXPECT_EQ(done.error().code, base::ErrorCode::disk_full);
      EXPECT_TRUE(writer->pending());
      EXPECT_TRUE(writer->retry().has_value());
      EXPECT_FALSE(writer->pending());
    };
    for (std::size_t i = 0; i < pictures.size(); ++i) settle(writer->add(milliseconds{i * 100}, pictures[i]));
    settle(writer->finish());
    EXPECT_EQ(failures, nth <= static_cast<int>(disk.writes()) ? 1u : 0u) << nth;
    auto source = FileSource::open(file);
    auto index = SegmentIndex::read(*source, "a.mkv");
    ASSERT_TRUE(index.has_value());
    expect_frames(*source, *index, pictures, pictures.size());
    EXPECT_TRUE(index->sealed());
  }
}

TEST(MatroskaWriter, AbandonKeepsWhatWasWhole) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  const auto pictures = make_pictures(4);
  FailingDisk disk;
  auto writer = begin_segment(file, kNoon, {64, 48}, disk);
  for (std::size_t i = 0; i < 3; ++i)
    ASSERT_TRUE(writer->add(milliseconds{i * 100}, pictures[i]).has_value());
  disk.fail_write(1, EIO, true);
  auto failed = writer->add(milliseconds{300}, pictures[3]);
  ASSERT_FALSE(failed.has_value());
  EXPECT_EQ(failed.error().code, base::ErrorCode::io);
  EXPECT_EQ(writer->frames(), 3u);
  ASSERT_TRUE(writer->abandon().has_value());
  EXPECT_EQ(std::filesystem::file_size(file), writer->bytes());
  auto source = FileSource::open(file);
  auto index = SegmentIndex::read(*source, "a.mkv");
  ASSERT_TRUE(index.has_value());
  expect_frames(*source, *index, pictures, 3);
  EXPECT_FALSE(index->torn());
}

TEST(MatroskaWriter, RefusesASizeThatNoPictureHas) {
  const TempFolder folder;
  auto made = real_disk().create(folder.path() / "a.mkv");
  ASSERT_TRUE(made.has_value());
  auto writer =
      MatroskaWriter::begin(std::shared_ptr<DiskFile>(std::move(made).value()), {"anvil", kNoon, {0, 48}});
  ASSERT_FALSE(writer.has_value());
  EXPECT_EQ(writer.error().code, base::ErrorCode::invalid_value);
}

TEST(SegmentIndex, NoticesAFlippedBitByTheChecksum) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  auto writer = begin_segment(file);
  ASSERT_TRUE(writer->add(milliseconds{0}, make_picture(64, 48, 1)).has_value());
  Bytes all = bytes_of(file);
  const auto frame = SegmentIndex::read(MemorySource{all}, "all")->frames()[0];
  EXPECT_TRUE(cluster_sound(MemorySource{all}, frame.cluster));
  all[frame.offset + frame.size_bytes / 2] ^= std::byte{1};
  EXPECT_FALSE(cluster_sound(MemorySource{all}, frame.cluster));
}

TEST(SegmentIndex, RefusesWhatIsNoSegmentWithAReason) {
  const auto error_of = [](std::string_view text) {
    return SegmentIndex::read(MemorySource{std::as_bytes(std::span{text})}, "x").error();
  };
  EXPECT_EQ(error_of("").code, base::ErrorCode::malformed);
  EXPECT_EQ(error_of("<!DOCTYPE html><html></html>").code, base::ErrorCode::malformed);
  EXPECT_EQ(error_of(std::string_view("\0\0\0\0\0\0\0\0", 8)).code, base::ErrorCode::malformed);
  // An EBML head of another document type: ID, length 7, DocType "rock".
  const auto other = error_of(std::string_view("\x1A\x45\xDF\xA3\x87\x42\x82\x84rock", 12));
  EXPECT_EQ(other.code, base::ErrorCode::unsupported);
  EXPECT_NE(other.detail.find("rock"), std::string::npos);
}

}  // namespace
}  // namespace rookery::archive
