// Films from elsewhere: every picture byte for byte with its time, whatever the container; what is none says
// so.
#include "archive/film_reader.h"

#include <fstream>

#include "tests/archive/archive_support.h"
#include "tests/archive/film_support.h"

namespace rookery::archive {
namespace {

using test::Bytes;
using test::milliseconds;
using test::seconds;

constexpr int kFramesPerS = 10;

struct Seen {
  std::vector<Bytes> pictures;
  std::vector<base::Microseconds> times;
};

class FilmReaderTest : public testing::Test {
 protected:
  FilmReaderTest() {
    for (unsigned i = 0; i < 25; ++i) pictures_.push_back(rookery::test::make_picture(64, 48, i));
  }
  std::filesystem::path file(std::string_view name) const { return folder_.path() / name; }

  static Seen all_of(FilmReader& reader) {
    Seen seen;
    for (;;) {
      auto at = reader.step();
      EXPECT_TRUE(at.has_value()) << at.error().text();
      if (!at || !*at) return seen;
      const auto bytes = reader.read().value();
      seen.pictures.emplace_back(bytes.begin(), bytes.end());
      seen.times.push_back(**at);
    }
  }
  Seen read(std::string_view name, const FilmSpan& span = {}) const {
    auto reader = FilmReader::open(file(name), span);
    EXPECT_TRUE(reader.has_value()) << reader.error().text();
    return reader ? all_of(**reader) : Seen{};
  }
  base::Error error_of(std::string_view name) const {
    auto reader = FilmReader::open(file(name));
    EXPECT_FALSE(reader.has_value());
    return reader ? base::Error{} : reader.error();
  }

  rookery::test::TempFolder folder_;
  std::vector<Bytes> pictures_;
};

TEST_F(FilmReaderTest, AFileThatIsCutOffSaysSo) {
  Bytes dump;
  for (const auto& picture : pictures_) dump.insert(dump.end(), picture.begin(), picture.end());
  std::ofstream(file("dump"), std::ios::binary)
      .write(reinterpret_cast<const char*>(dump.data()), static_cast<std::streamsize>(dump.size()));
  for (const char* muxer : {"avi", "matroska", "mp4", "dump"}) {
    SCOPED_TRACE(muxer);
    if (muxer != std::string_view("dump")) test::write_film(file(muxer), muxer, pictures_, kFramesPerS);
    const auto whole = FilmReader::open(file(muxer)).value();
    all_of(*whole);
    EXPECT_EQ(whole->remark().find("breaks off"), std::string::npos) << whole->remark();
    if (muxer == std::string_view("mp4")) continue;  // its index is last: without it it is no film
    std::filesystem::resize_file(file(muxer), std::filesystem::file_size(file(muxer)) * 55 / 100);
    const auto cut = FilmReader::open(file(muxer)).value();
    const Seen seen = all_of(*cut);
    EXPECT_LT(seen.pictures.size(), pictures_.size());
    EXPECT_NE(cut->remark().find("breaks off"), std::string::npos) << cut->remark();
  }
}

TEST_F(FilmReaderTest, EveryContainerGivesThePicturesByteForByteWithTheirTimes) {
  for (const char* muxer : {"avi", "matroska", "mp4", "mov"}) {
    SCOPED_TRACE(muxer);
    test::write_film(file(muxer), muxer, pictures_, kFramesPerS);
    const Seen seen = read(muxer);
    EXPECT_EQ(seen.pictures, pictures_);
    for (std::size_t i = 0; i < seen.times.size(); ++i) ASSERT_EQ(seen.times[i], milliseconds{100 * i});
  }
}

TEST_F(FilmReaderTest, FilesWithoutTimesGoByTheRateThatIsGiven) {
  for (const char* muxer : {"mjpeg", "mpjpeg"}) {
    SCOPED_TRACE(muxer);
    test::write_film(file(muxer), muxer, pictures_, kFramesPerS);
    FilmSpan span;
    span.frames_per_s = 8;
    auto reader = FilmReader::open(file(muxer), span);
    ASSERT_TRUE(reader.has_value()) << reader.error().text();
    const Seen seen = all_of(**reader);
    EXPECT_EQ(seen.pictures, pictures_);
    for (std::size_t i = 0; i < seen.times.size(); ++i) ASSERT_EQ(seen.times[i], milliseconds{125 * i});
    EXPECT_NE((*reader)->remark().find("8 pictures a second"), std::string::npos) << (*reader)->remark();
  }
}

// As boards send it: an empty line first, or all of the answer's head; lines that FFmpeg's own demuxer does
// not expect.
TEST_F(FilmReaderTest, ADumpedStreamGivesItsPicturesWhateverStandsBetweenThem) {
  for (const char* head :
       {"", "--frame\r\n", "\r\n--frame\r\n", "HTTP/1.1 200 OK\r\nX-Rate: 60\r\n\r\n--frame\r\n"}) {
    SCOPED_TRACE(head);
    std::ofstream out(file("dump"), std::ios::binary);
    out << head;
    for (const Bytes& picture : pictures_) {
      out << "Content-Type: image/jpeg\r\nContent-Length: " << picture.size()
          << "\r\nX-Timestamp: 12.5\r\n\r\n";
      out.write(reinterpret_cast<const char*>(picture.data()), static_cast<std::streamsize>(picture.size()));
      out << "\r\n--frame\r\n";
    }
    out.close();
    EXPECT_EQ(read("dump").pictures, pictures_);
  }
}

TEST_F(FilmReaderTest, ASpanHoldsItsEndsAndTimesStillCountFromTheFirstPicture) {
  test::write_film(file("a.mkv"), "matroska", pictures_, kFramesPerS);
  FilmSpan span;
  span.from = seconds{1};
  span.to = milliseconds{1500};
  const Seen seen = read("a.mkv", span);
  ASSERT_EQ(seen.pictures.size(), 6U);
  EXPECT_EQ(seen.times.front(), seconds{1});
  EXPECT_EQ(seen.times.back(), milliseconds{1500});
  EXPECT_EQ(seen.pictures.front(), pictures_[10]);
}

TEST_F(FilmReaderTest, AnEmptySpanSaysWhereTheFilmEnds) {
  test::write_film(file("a.mkv"), "matroska", pictures_, kFramesPerS);
  FilmSpan span;
  span.from = seconds{60};
  const auto reader = FilmReader::open(file("a.mkv"), span).value();
  const auto at = reader->step();
  ASSERT_FALSE(at.has_value());
  EXPECT_EQ(at.error().code, base::ErrorCode::not_found);
  EXPECT_NE(at.error().text().find("2.400 s"), std::string::npos) << at.error().text();
}

TEST_F(FilmReaderTest, AnotherCodecIsNamedWithTheWayToConvertIt) {
  for (const char* muxer : {"avi", "matroska"}) {
    test::write_film(file(muxer), muxer, pictures_, kFramesPerS, AV_CODEC_ID_MPEG4);
    const auto error = error_of(muxer);
    EXPECT_EQ(error.code, base::ErrorCode::unsupported);
    EXPECT_NE(error.detail.find("mpeg4"), std::string::npos) << error.text();
    EXPECT_NE(error.remedy.find("ffmpeg -i"), std::string::npos) << error.text();
    EXPECT_NE(error.remedy.find("-c:v mjpeg -q:v 3"), std::string::npos) << error.text();
  }
}

TEST_F(FilmReaderTest, TheAdviceTakesAnyFileName) {
  test::write_film(file("it's a film.avi"), "avi", pictures_, kFramesPerS, AV_CODEC_ID_MPEG4);
  const auto error = error_of("it's a film.avi");
  EXPECT_NE(error.remedy.find("/it'\\''s a film.avi' -c:v"), std::string::npos) << error.remedy;
}

TEST_F(FilmReaderTest, PassingOverWhatIsBeforeTheSpanCanBeStopped) {
  test::write_film(file("a.mkv"), "matroska", pictures_, kFramesPerS);
  FilmSpan span;
  span.from = seconds{2};
  int asked = 0;
  const auto reader = FilmReader::open(file("a.mkv"), span, [&] { return ++asked < 5; }).value();
  EXPECT_EQ(reader->step().error().code, base::ErrorCode::cancelled);
  EXPECT_EQ(asked, 5);
}

TEST_F(FilmReaderTest, WhatIsNoFilmSaysSo) {
  test::write_bytes(file("note.txt"), Bytes(3000, std::byte{'a'}));
  test::write_bytes(file("empty.avi"), {});
  EXPECT_EQ(error_of("note.txt").code, base::ErrorCode::unsupported);
  EXPECT_EQ(error_of("empty.avi").code, base::ErrorCode::unsupported);
  EXPECT_EQ(error_of("").code, base::ErrorCode::unsupported);  // the folder
  EXPECT_EQ(error_of("nothing.mkv").code, base::ErrorCode::not_found);
}

// A play list names other files; nobody meant those.
TEST_F(FilmReaderTest, NothingButTheFileIsOpened) {
  test::write_film(file("a.ts.mkv"), "matroska", pictures_, kFramesPerS);
  const std::string list = "ffconcat version 1.0\nfile a.ts.mkv\n";
  const auto bytes = std::as_bytes(std::span(list));
  test::write_bytes(file("list.txt"), Bytes(bytes.begin(), bytes.end()));
  EXPECT_EQ(error_of("list.txt").code, base::ErrorCode::unsupported);
}

TEST_F(FilmReaderTest, ATruncatedFileGivesWhatIsWhole) {
  for (const char* muxer : {"avi", "matroska", "mjpeg", "mpjpeg"}) {
    SCOPED_TRACE(muxer);
    test::write_film(file(muxer), muxer, pictures_, kFramesPerS);
    for (const int eighths : {3, 5, 7}) {
      test::write_film(file("cut"), muxer, pictures_, kFramesPerS);
      std::filesystem::resize_file(file("cut"), std::filesystem::file_size(file("cut")) * eighths / 8);
      const Seen seen = read("cut");
      ASSERT_GT(seen.pictures.size(), 2U);
      ASSERT_LE(seen.pictures.size(), pictures_.size());
      // All but the last, which may have been cut through.
      for (std::size_t i = 0; i + 1 < seen.pictures.size(); ++i) ASSERT_EQ(seen.pictures[i], pictures_[i]);
    }
  }
}

TEST_F(FilmReaderTest, DamageAnywhereEndsOrIsPassedOver) {
  test::write_film(file("whole"), "matroska", pictures_, kFramesPerS);
  const Bytes whole = test::bytes_of(file("whole"));
  for (std::size_t at = 0; at < whole.size(); at += 97) {
    Bytes damaged = whole;
    for (std::size_t i = at; i < std::min(at + 8, damaged.size()); ++i) damaged[i] ^= std::byte{0xFF};
    test::write_bytes(file("damaged"), damaged);
    auto reader = FilmReader::open(file("damaged"));
    if (!reader) continue;
    std::size_t steps = 0;
    for (auto step = (*reader)->step(); step && *step; step = (*reader)->step()) ++steps;
    ASSERT_LE(steps, 2 * pictures_.size());
  }
}

}  // namespace
}  // namespace rookery::archive
