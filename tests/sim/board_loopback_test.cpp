#include "sim/board.h"

#include <gtest/gtest.h>

#include "sim_support.h"

namespace rookery::sim {
namespace {

using test::grey_jpeg;
using test::occurrences;
using test::output_of;
using test::text_of;

std::vector<Bytes> three_pictures() {
  return {grey_jpeg(160, 120, 40), grey_jpeg(160, 120, 100), grey_jpeg(160, 120, 160)};
}

BoardOptions quick(Framing framing = Framing::chunked_stamp) {
  BoardOptions options;
  options.framing = framing;
  options.frames_per_second = 200;
  options.record_hashes = true;
  if (framing == Framing::quoted_boundary) options.boundary = "saltmarsh:frame";
  return options;
}

class BoardFraming : public testing::TestWithParam<Framing> {};

// curl undoes HTTP's own coding and knows nothing of multipart: each picture must be there whole, in order.
TEST_P(BoardFraming, CarriesEveryPictureByteForByte) {
  test::Running running;
  BoardOptions options = quick(GetParam());
  options.frames_until_close = 6;
  const std::vector<Bytes> pictures = three_pictures();
  Board board(running.executor(), options, std::make_shared<ListSource>(pictures));
  ASSERT_TRUE(board.start());
  const std::string body =
      output_of("curl -s --ignore-content-length --max-time 20 " + board.stream_address());
  std::size_t at = 0;
  for (int i = 0; i < 6; ++i) {
    const std::size_t found = body.find(text_of(pictures[static_cast<std::size_t>(i % 3)]), at);
    ASSERT_NE(found, std::string::npos) << name_of(GetParam()) << " picture " << i;
    at = found + 1;
  }
  EXPECT_EQ(board.counts().frames_sent, 6U);
  ASSERT_EQ(board.sent_hashes().size(), 6U);
  EXPECT_EQ(board.sent_hashes()[1], fnv1a64(*pictures[1]));
  EXPECT_EQ(board.sent_hashes()[4], fnv1a64(*pictures[1]));
}

INSTANTIATE_TEST_SUITE_P(All, BoardFraming, testing::ValuesIn(kAllFramings), [](const auto& info) {
  std::string name(name_of(info.param));
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
});

// FFmpeg's own multipart reader takes the kinds that keep to the standards it knows.
TEST(Board, OutsideReaderDecodesTheStream) {
  for (const Framing framing : {Framing::chunked_stamp, Framing::http_1_0, Framing::dashes_in_parameter}) {
    test::Running running;
    Board board(running.executor(), quick(framing), std::make_shared<ListSource>(three_pictures()));
    ASSERT_TRUE(board.start());
    const std::string out = output_of("ffmpeg -v error -f mpjpeg -i " + board.stream_address() +
                                      " -frames:v 5 -f rawvideo -pix_fmt gray - 2>&1");
    EXPECT_EQ(out.size(), 5U * 160 * 120) << name_of(framing);
  }
}

TEST(Board, HandsOutAStillOnItsOtherPort) {
  test::Running running;
  const std::vector<Bytes> pictures = three_pictures();
  Board board(running.executor(), quick(), std::make_shared<ListSource>(pictures));
  ASSERT_TRUE(board.start());
  EXPECT_EQ(output_of("curl -s --max-time 10 " + board.still_address()), text_of(pictures[0]));
  EXPECT_NE(board.still_address().substr(0, 22), board.stream_address().substr(0, 22));
  EXPECT_EQ(board.counts().stills_sent, 1U);
}

}  // namespace
}  // namespace rookery::sim
