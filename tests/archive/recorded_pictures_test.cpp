// A span of a recording, picture by picture: across segments and gaps, behind what cannot be read.
#include "archive/recorded_pictures.h"

#include "tests/archive/archive_support.h"

namespace rookery::archive {
namespace {

using std::chrono::minutes;
using test::Bytes;
using test::kNoon;
using test::milliseconds;
using test::seconds;

class RecordedPicturesTest : public test::Hall {
 protected:
  void record_some(int count, base::Microseconds every) {
    auto chosen = options();
    chosen.segment_length = seconds{10};
    Recorder recorder{*catalog, chosen, clock};
    record(recorder, anvil, count, every);
  }
};

TEST_F(RecordedPicturesTest, GivesTheSpansPicturesAcrossSegmentsAndGaps) {
  record_some(100, milliseconds{300});
  clock.pass(minutes{10});
  record_some(20, milliseconds{300});
  const auto from = kNoon + milliseconds{1000};
  const auto to = clock.wall() - milliseconds{900};
  RecordedPictures pictures{*catalog, anvil, from, to};
  std::size_t seen = 4;  // the first not before `from`: 1200 ms
  for (auto at = pictures.step(); at.value().has_value(); at = pictures.step(), ++seen) {
    ASSERT_EQ(pictures.first() + **at, sent_at[seen]);
    const auto bytes = pictures.read().value();
    ASSERT_EQ(Bytes(bytes.begin(), bytes.end()), sent[seen]);
  }
  EXPECT_EQ(pictures.first(), kNoon + milliseconds{1200});
  EXPECT_EQ(seen, 118U);
  EXPECT_GT(pictures.passed(), 0.99);
}

TEST_F(RecordedPicturesTest, AnEmptySpanNamesTheNearest) {
  record_some(10, seconds{1});
  RecordedPictures pictures{*catalog, anvil, kNoon + minutes{5}, kNoon + minutes{6}};
  const auto at = pictures.step();
  ASSERT_FALSE(at.has_value());
  EXPECT_EQ(at.error().code, base::ErrorCode::not_found);
  EXPECT_NE(at.error().remedy.find("2026-03-01T12:00:09"), std::string::npos) << at.error().remedy;
}

TEST_F(RecordedPicturesTest, StepsOnBehindAPictureThatCannotBeRead) {
  record_some(20, milliseconds{100});
  const auto segment = segments(anvil).front();
  RecordedPictures pictures{*catalog, anvil, kNoon, kNoon + minutes{1}};
  ASSERT_TRUE(pictures.step().value().has_value());
  std::filesystem::resize_file(file_of(segment), segment.bytes / 2);  // its index is known already
  std::size_t stepped = 1, failed = 0;
  for (auto at = pictures.step(); at.value().has_value(); at = pictures.step()) {
    ++stepped;
    if (!pictures.read()) ++failed;
  }
  EXPECT_EQ(stepped, 20U);
  EXPECT_GT(failed, 5U);
  EXPECT_LT(failed, 15U);
}

}  // namespace
}  // namespace rookery::archive
