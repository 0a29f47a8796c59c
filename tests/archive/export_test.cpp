// Export: the span, the whole span, nothing but the span; byte for byte as Matroska, at a constant rate as
// MP4.
#include "archive/export.h"

#include "archive/libav.h"
#include "tests/archive/archive_support.h"

namespace rookery::archive {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using test::Bytes;
using test::kNoon;
using test::milliseconds;
using test::seconds;

bool go_on(double) { return true; }

// What FFmpeg's own demuxer and decoder make of an exported file.
struct Film {
  int width_px = 0;
  int height_px = 0;
  AVRational rate{};
  AVColorRange range = AVCOL_RANGE_UNSPECIFIED;
  std::string creation_time;
  std::vector<std::int64_t> pts;
  std::vector<std::uint8_t> centre_luma;  // one a picture
  std::uint8_t corner_luma = 0;           // of the last picture
};

Film film_of(const std::filesystem::path& file) {
  Film film;
  AVFormatContext* context = nullptr;
  EXPECT_EQ(avformat_open_input(&context, file.c_str(), nullptr, nullptr), 0);
  if (context == nullptr) return film;
  EXPECT_GE(avformat_find_stream_info(context, nullptr), 0);
  AVStream* stream = context->streams[0];
  const AVCodec* codec = avcodec_find_decoder(stream->codecpar->codec_id);
  LibavPtr<AVCodecContext> decoder{avcodec_alloc_context3(codec)};
  avcodec_parameters_to_context(decoder.get(), stream->codecpar);
  EXPECT_EQ(avcodec_open2(decoder.get(), codec, nullptr), 0);
  film.width_px = stream->codecpar->width;
  film.height_px = stream->codecpar->height;
  film.rate = stream->avg_frame_rate;
  film.range = stream->codecpar->color_range;
  if (const auto* tag = av_dict_get(context->metadata, "creation_time", nullptr, 0))
    film.creation_time = tag->value;
  LibavPtr<AVPacket> packet{av_packet_alloc()};
  LibavPtr<AVFrame> picture{av_frame_alloc()};
  const auto take = [&] {
    while (avcodec_receive_frame(decoder.get(), picture.get()) >= 0) {
      film.pts.push_back(picture->pts);
      const auto* row = picture->data[0] + picture->linesize[0] * (picture->height / 2);
      film.centre_luma.push_back(row[picture->width / 2]);
      film.corner_luma = picture->data[0][0];
    }
  };
  while (av_read_frame(context, packet.get()) >= 0) {
    EXPECT_GE(avcodec_send_packet(decoder.get(), packet.get()), 0);
    take();
    av_packet_unref(packet.get());
  }
  avcodec_send_packet(decoder.get(), nullptr);
  take();
  avformat_close_input(&context);
  return film;
}

class ExportTest : public test::Hall {
 protected:
  std::filesystem::path out(std::string_view file) const { return folder.path() / file; }

  ExportRequest request(base::WallTime from, base::WallTime to, ExportFormat format) const {
    return ExportRequest{anvil, from, to, format};
  }

  base::Error error_of(const ExportRequest& wanted, const std::filesystem::path& file) {
    auto result = export_span(*catalog, wanted, file, go_on);
    EXPECT_FALSE(result.has_value());
    return result ? base::Error{} : result.error();
  }

  // Nothing but what was asked for stands there: no temporary file is left.
  std::size_t files_left() const {
    std::size_t count = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
      const auto its = entry.path().filename().string();
      if (its.ends_with(".part") || its.ends_with(".mkv") || its.ends_with(".mp4")) ++count;
    }
    return count;
  }

  void record_plain(int count, base::Microseconds every, std::chrono::seconds length = seconds{10}) {
    auto chosen = options();
    chosen.segment_length = length;
    Recorder recorder{*catalog, chosen, clock};
    record(recorder, anvil, count, every);
  }
};

TEST_F(ExportTest, MatroskaHoldsTheSpansFramesByteForByteWithTheirTimes) {
  record_plain(100, milliseconds{330});
  const auto from = kNoon + milliseconds{5000};
  const auto to = kNoon + milliseconds{25080};
  const auto result = export_span(*catalog, request(from, to, ExportFormat::matroska), out("a.mkv"), go_on);
  ASSERT_TRUE(result.has_value()) << result.error().text();
  auto source = FileSource::open(out("a.mkv"));
  auto index = SegmentIndex::read(*source, "a.mkv");
  ASSERT_TRUE(index.has_value());
  std::size_t expected = 0;
  for (std::size_t i = 0; i < sent.size(); ++i) {
    if (sent_at[i] < from || sent_at[i] > to) continue;
    ASSERT_LT(expected, index->frames().size());
    EXPECT_EQ(read_frame(*source, index->frames()[expected]).value(), sent[i]);
    EXPECT_EQ(index->time_of(expected), sent_at[i]);
    ++expected;
  }
  EXPECT_EQ(index->frames().size(), expected);
  EXPECT_EQ(index->frames()[0].at_ms, 0);
  EXPECT_EQ(index->head().date, result->first);
  EXPECT_EQ(result->frames, expected);
  EXPECT_EQ(result->last, to);  // both ends belong to the span
  EXPECT_EQ(result->bytes, std::filesystem::file_size(out("a.mkv")));
  EXPECT_TRUE(index->sealed());
}

TEST_F(ExportTest, OneFrameIsAFileAsWell) {
  record_plain(10, seconds{1});
  const auto at = kNoon + seconds{3};
  const auto mkv =
      export_span(*catalog, request(at, at + milliseconds{1}, ExportFormat::matroska), out("a.mkv"), go_on);
  ASSERT_TRUE(mkv.has_value()) << mkv.error().text();
  EXPECT_EQ(mkv->frames, 1u);
  const auto mp4 =
      export_span(*catalog, request(at, at + milliseconds{1}, ExportFormat::mp4), out("a.mp4"), go_on);
  ASSERT_TRUE(mp4.has_value()) << mp4.error().text();
  EXPECT_EQ(film_of(out("a.mp4")).pts.size(), 1u);
}

TEST_F(ExportTest, NothingInTheSpanNamesTheNearestRecordings) {
  record_plain(10, seconds{1}, seconds{600});
  clock.pass(minutes{20});
  record_plain(10, seconds{1}, seconds{600});
  const auto error =
      error_of(request(kNoon + minutes{5}, kNoon + minutes{6}, ExportFormat::matroska), out("a.mkv"));
  EXPECT_EQ(error.code, base::ErrorCode::not_found);
  EXPECT_NE(error.remedy.find("2026-03-01T12:00:09"), std::string::npos) << error.remedy;
  EXPECT_NE(error.remedy.find("2026-03-01T12:20:10"), std::string::npos) << error.remedy;
  EXPECT_EQ(files_left(), 0u);
}

TEST_F(ExportTest, BadRequestsSayWhatIsWrong) {
  record_plain(10, seconds{1});
  EXPECT_EQ(error_of(request(kNoon, kNoon, ExportFormat::mp4), out("a.mp4")).code,
            base::ErrorCode::invalid_value);
  EXPECT_EQ(error_of(request(kNoon, kNoon + hours{25}, ExportFormat::mp4), out("a.mp4")).code,
            base::ErrorCode::invalid_value);
  auto wrong_rate = request(kNoon, kNoon + seconds{5}, ExportFormat::mp4);
  wrong_rate.frames_per_s = 61;
  EXPECT_EQ(error_of(wrong_rate, out("a.mp4")).code, base::ErrorCode::invalid_value);
  test::write_bytes(out("there.mkv"), {});
  EXPECT_EQ(error_of(request(kNoon, kNoon + seconds{5}, ExportFormat::matroska), out("there.mkv")).code,
            base::ErrorCode::already_exists);
  EXPECT_EQ(std::filesystem::file_size(out("there.mkv")), 0u);
}

TEST_F(ExportTest, CancelLeavesNothingBehind) {
  record_plain(50, milliseconds{200});
  for (const auto format : {ExportFormat::matroska, ExportFormat::mp4}) {
    int calls = 0;
    auto result = export_span(*catalog, request(kNoon, kNoon + seconds{8}, format), out("a.mkv"),
                              [&](double) { return ++calls < 10; });
    ASSERT_FALSE(result.has_value());
    EXPECT_EQ(result.error().code, base::ErrorCode::cancelled);
    EXPECT_EQ(files_left(), 0u);
  }
}

TEST_F(ExportTest, ProgressGrowsToOne) {
  record_plain(50, milliseconds{200});
  double before = 0;
  ASSERT_TRUE(export_span(*catalog, request(kNoon, kNoon + seconds{10}, ExportFormat::mp4), out("a.mp4"),
                          [&](double share) {
                            EXPECT_GE(share, before);
                            before = share;
                            return true;
                          })
                  .has_value());
  EXPECT_EQ(before, 1.0);
}

TEST_F(ExportTest, Mp4HasAConstantRateTheRightLengthAndTheTimeOfItsFirstFrame) {
  record_plain(80, milliseconds{125});  // 8 frames/s for 10 s
  auto wanted = request(kNoon, kNoon + seconds{60}, ExportFormat::mp4);
  ASSERT_TRUE(export_span(*catalog, wanted, out("own.mp4"), go_on).has_value());
  const Film own = film_of(out("own.mp4"));
  EXPECT_EQ(own.pts.size(), 80u);
  EXPECT_EQ(av_q2d(own.rate), 8.0);
  EXPECT_EQ(own.range, AVCOL_RANGE_MPEG);
  EXPECT_EQ(own.creation_time.substr(0, 19), "2026-03-01T12:00:00");
  for (std::size_t i = 2; i < own.pts.size(); ++i)
    ASSERT_EQ(own.pts[i] - own.pts[i - 1], own.pts[1] - own.pts[0]) << i;
  wanted.frames_per_s = 25;
  ASSERT_TRUE(export_span(*catalog, wanted, out("more.mp4"), go_on).has_value());
  const Film more = film_of(out("more.mp4"));
  EXPECT_NEAR(static_cast<double>(more.pts.size()), 79 * 0.125 * 25 + 1, 1.0);
  wanted.frames_per_s = 2;
  ASSERT_TRUE(export_span(*catalog, wanted, out("fewer.mp4"), go_on).has_value());
  EXPECT_NEAR(static_cast<double>(film_of(out("fewer.mp4")).pts.size()), 79 * 0.125 * 2 + 1, 1.0);
}

TEST_F(ExportTest, Mp4HoldsAPauseForASecondAndCutsTheRest) {
  record_plain(21, milliseconds{100});
  clock.pass(seconds{30} - milliseconds{100});
  record_plain(21, milliseconds{100});
  const auto result =
      export_span(*catalog, request(kNoon, kNoon + minutes{1}, ExportFormat::mp4), out("a.mp4"), go_on);
  ASSERT_TRUE(result.has_value()) << result.error().text();
  EXPECT_EQ(result->gaps_cut, 1u);
  EXPECT_EQ(result->cut_time, seconds{29});
  // 2 s, 1 s of pause, 2 s, and the last picture.
  EXPECT_EQ(film_of(out("a.mp4")).pts.size(), 51u);
}

TEST_F(ExportTest, Mp4ConvertsFullRangeToLimited) {
  // A flat grey of 235 everywhere in the square that fills a quarter of the height; the centre is read.
  std::vector<std::uint8_t> white(static_cast<std::size_t>(64) * 48 * 3, 255);
  tjhandle encoder = tjInitCompress();
  unsigned char* jpeg = nullptr;
  unsigned long size = 0;
  ASSERT_EQ(tjCompress2(encoder, white.data(), 64, 0, 48, TJPF_RGB, &jpeg, &size, TJSAMP_422, 95, 0), 0);
  const auto* first = reinterpret_cast<const std::byte*>(jpeg);
  const Bytes bytes(first, first + size);
  tjFree(jpeg);
  tjDestroy(encoder);
  {
    Recorder recorder{*catalog, options(), clock};
    for (int i = 0; i < 5; ++i) {
      recorder.record(anvil, std::make_shared<const camera::Frame>(bytes, clock.wall(), clock.mono(), 1,
                                                                   camera::PixelSize{64, 48}));
      clock.pass(milliseconds{100});
    }
  }
  ASSERT_TRUE(
      export_span(*catalog, request(kNoon, kNoon + minutes{1}, ExportFormat::mp4), out("a.mp4"), go_on)
          .has_value());
  const Film film = film_of(out("a.mp4"));
  ASSERT_FALSE(film.centre_luma.empty());
  EXPECT_NEAR(film.centre_luma[0], 235, 2);  // 255 in full range
}

TEST_F(ExportTest, OddSizesBecomeEvenAndOtherSizesAreFramedInBlack) {
  {
    Recorder recorder{*catalog, options(), clock};
    for (int i = 0; i < 10; ++i) {
      recorder.record(anvil, i < 5 ? frame(65, 49) : frame(48, 64));
      clock.pass(milliseconds{100});
    }
  }
  const auto mp4 =
      export_span(*catalog, request(kNoon, kNoon + minutes{1}, ExportFormat::mp4), out("a.mp4"), go_on);
  ASSERT_TRUE(mp4.has_value()) << mp4.error().text();
  const Film film = film_of(out("a.mp4"));
  EXPECT_EQ(film.width_px, 64);
  EXPECT_EQ(film.height_px, 48);
  EXPECT_EQ(film.pts.size(), 10u);
  EXPECT_LT(film.corner_luma, 24);
  EXPECT_EQ(mp4->resized, 5u);
  const auto mkv =
      export_span(*catalog, request(kNoon, kNoon + minutes{1}, ExportFormat::matroska), out("a.mkv"), go_on);
  ASSERT_TRUE(mkv.has_value());
  EXPECT_EQ(mkv->frames, 10u);
  EXPECT_EQ(mkv->resized, 5u);
}

TEST_F(ExportTest, ClockSetBackLeavesTimesGrowing) {
  {
    Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 20, milliseconds{500});
    clock.set_wall(kNoon + seconds{4});
    record(recorder, anvil, 20, milliseconds{500});
  }
  const auto result =
      export_span(*catalog, request(kNoon, kNoon + minutes{1}, ExportFormat::matroska), out("a.mkv"), go_on);
  ASSERT_TRUE(result.has_value());
  EXPECT_EQ(result->frames + result->overlapping, 40u);
  EXPECT_GT(result->overlapping, 0u);
  auto source = FileSource::open(out("a.mkv"));
  auto index = SegmentIndex::read(*source, "a.mkv");
  for (std::size_t i = 1; i < index->frames().size(); ++i)
    ASSERT_GT(index->frames()[i].at_ms, index->frames()[i - 1].at_ms);
}

TEST_F(ExportTest, Mp4BeginsWithItsIndex) {
  record_plain(20, milliseconds{100});
  ASSERT_TRUE(
      export_span(*catalog, request(kNoon, kNoon + minutes{1}, ExportFormat::mp4), out("a.mp4"), go_on)
          .has_value());
  const Bytes bytes = test::bytes_of(out("a.mp4"));
  const std::string_view text{reinterpret_cast<const char*>(bytes.data()), bytes.size()};
  EXPECT_LT(text.find("moov"), text.find("mdat"));  // ISO/IEC 14496-12: playing starts before all is loaded
}

}  // namespace
}  // namespace rookery::archive
