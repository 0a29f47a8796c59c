#include "sim/board.h"

#include <gtest/gtest.h>

#include <thread>

#include "sim_support.h"

namespace rookery::sim {
namespace {

using test::output_of;
using test::quick;
using test::text_of;
using test::three_pictures;
using test::Viewer;

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

INSTANTIATE_TEST_SUITE_P(All, BoardFraming, testing::ValuesIn(kAllFramings), [](const auto& chosen) {
  std::string name(name_of(chosen.param));
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
  // Counted when the board's write has ended, which may be after the reader has everything.
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  while (board.counts().stills_sent == 0 && std::chrono::steady_clock::now() < until)
    std::this_thread::yield();
  EXPECT_EQ(board.counts().stills_sent, 1U);
}

TEST(Board, ASecondViewerHearsNothingUntilTheFirstLeaves) {
  test::Running running;
  Board board(running.executor(), quick(), std::make_shared<ListSource>(three_pictures()));
  ASSERT_TRUE(board.start());
  Viewer first(board.stream_address(), "");
  ASSERT_TRUE(first.hears(2000));
  Viewer second(board.stream_address(), "");
  EXPECT_FALSE(second.hears(0, std::chrono::milliseconds(300)));
  EXPECT_TRUE(first.hears(first.got().size() + 5000));
  EXPECT_EQ(board.counts().most_streams, 2U);
  EXPECT_EQ(board.counts().streams_served, 1U);
  first.leave();
  EXPECT_TRUE(second.hears(2000));
  EXPECT_EQ(board.counts().streams_served, 2U);
}

TEST(Board, OnOnePortStillsWaitWhileSomebodyStreams) {
  test::Running running;
  BoardOptions options = quick();
  options.one_port = true;
  Board board(running.executor(), options, std::make_shared<ListSource>(three_pictures()));
  ASSERT_TRUE(board.start());
  Viewer viewer(board.stream_address(), "");
  ASSERT_TRUE(viewer.hears(2000));
  Viewer still(board.still_address(), "");
  EXPECT_FALSE(still.hears(0, std::chrono::milliseconds(300)));
  viewer.leave();
  EXPECT_TRUE(still.hears(500));
}

TEST(Board, AsksForNameAndPassword) {
  for (const auto& [kind, flag] :
       {std::pair{SignIn::basic, "--basic"}, std::pair{SignIn::digest_md5, "--digest"},
        std::pair{SignIn::digest_sha256, "--digest"}}) {
    test::Running running;
    BoardOptions options = quick();
    options.sign_in = kind;
    options.user = "keeper";
    options.password = "tide: 7";
    Board board(running.executor(), options, std::make_shared<ListSource>(three_pictures()));
    ASSERT_TRUE(board.start());
    const std::string status = " -s -o /dev/null -w '%{http_code}' --max-time 10 ";
    EXPECT_EQ(
        output_of("curl " + std::string(flag) + " -u 'keeper:tide: 7'" + status + board.still_address()),
        "200");
    EXPECT_EQ(output_of("curl " + std::string(flag) + " -u keeper:wrong" + status + board.still_address()),
              "401");
    EXPECT_EQ(output_of("curl" + status + board.still_address()), "401");
    EXPECT_GE(board.counts().denied, 2U);
  }
}

TEST(Board, RedirectsToItsStream) {
  test::Running running;
  BoardOptions options = quick();
  options.frames_until_close = 1;
  Board board(running.executor(), options, std::make_shared<ListSource>(three_pictures()));
  ASSERT_TRUE(board.start());
  EXPECT_NE(
      output_of("curl -sL --max-time 10 " + board.redirect_address()).find(text_of(three_pictures()[0])),
      std::string::npos);
}

TEST(Board, WireFaultsAreSeenOnTheWire) {
  test::Running running;
  Board board(running.executor(), quick(), std::make_shared<ListSource>(three_pictures()));
  ASSERT_TRUE(board.start());
  board.faults().once(Fault::html);
  EXPECT_NE(output_of("curl -s --max-time 10 " + board.stream_address()).find("<title>"), std::string::npos);
  board.faults().once(Fault::huge_length);
  Viewer huge(board.stream_address(), "");
  EXPECT_TRUE(huge.hears(40000));
  EXPECT_NE(huge.got().find("Content-Length: 10737418240"), std::string::npos);
  huge.leave();
  board.faults().once(Fault::endless_header);
  Viewer endless(board.stream_address(), "");
  EXPECT_TRUE(endless.hears(20000));
  EXPECT_EQ(endless.got().find("\r\n\r\n"), std::string::npos);
  endless.leave();
  Viewer reset(board.stream_address(), "");
  EXPECT_TRUE(reset.hears(2000));
  board.faults().once(Fault::reset);
  EXPECT_FALSE(reset.hears(100'000'000));
  EXPECT_EQ(reset.error(), boost::asio::error::connection_reset);
  const auto truth = board.truth();
  EXPECT_EQ(std::count_if(truth.begin(), truth.end(), [](const auto& e) { return e.what == "reset"; }), 1);
}

TEST(Board, AFrozenBoardSaysNothingUntilPowerIsCycled) {
  test::Running running;
  Board board(running.executor(), quick(), std::make_shared<ListSource>(three_pictures()));
  ASSERT_TRUE(board.start());
  Viewer viewer(board.stream_address(), "");
  ASSERT_TRUE(viewer.hears(2000));
  board.faults().turn_on(Fault::freeze);
  // What was on its way still comes; then there is silence on an open connection.
  while (viewer.hears(viewer.got().size(), std::chrono::milliseconds(300))) {
  }
  EXPECT_FALSE(viewer.ended());
  board.faults().turn_off(Fault::freeze);
  EXPECT_FALSE(viewer.hears(viewer.got().size(), std::chrono::milliseconds(300)));
  board.cycle_power(std::chrono::milliseconds(1));
  EXPECT_FALSE(viewer.hears(viewer.got().size()));
  EXPECT_TRUE(viewer.ended());
  // It boots anew on the same ports; curl tries again until it is there.
  const std::string still = output_of(
      "curl -s --retry 20 --retry-connrefused --retry-delay 0 --max-time 10 " + board.still_address());
  const std::vector<Bytes> pictures = three_pictures();
  EXPECT_TRUE(
      std::any_of(pictures.begin(), pictures.end(), [&](const Bytes& p) { return text_of(p) == still; }));
  EXPECT_EQ(board.counts().boots, 2U);
}

}  // namespace
}  // namespace rookery::sim
