// What `find` learns by asking a board, and what its pull learns anyway, must compare.
#include "camera/ask_board.h"

#include <gtest/gtest.h>

#include "camera/fingerprint.h"
#include "tests/camera/pull_support.h"

namespace rookery::camera::test {
namespace {

class AskBoard : public testing::Test {
 protected:
  void start(sim::BoardOptions options) {
    options.frames_per_second = 50;
    board_ = std::make_unique<sim::Board>(running_.executor(), options,
                                          std::make_shared<sim::ListSource>(different_pictures(4)));
    ASSERT_TRUE(board_->start());
  }
  BoardAnswers ask() {
    std::vector<AskedPlace> places;
    for (const auto& [text, stream] :
         {std::pair{board_->still_address(), false}, {board_->stream_address(), true}}) {
      const auto address = net::Address::parse(text).value();
      places.push_back({address.port, address.target, stream});
    }
    AskPlan plan(boost::asio::ip::make_address("127.0.0.1"), std::move(places));
    auto asked = boost::asio::co_spawn(boost::asio::make_strand(running_.executor()),
                                       ask_board(std::move(plan)), boost::asio::use_future);
    return asked.get();
  }
  std::string pulled(Source source) {
    Settings settings(*base::CameraName::parse("bobbin"));
    settings.source = source;
    settings.stream_address = board_->stream_address();
    settings.still_address = board_->still_address();
    Pull pull(running_.executor(), settings, quick(), clock_, 1);
    EXPECT_EQ(pull.fingerprint(), "");
    pull.start();
    EXPECT_TRUE(eventually([&] { return pull.status().state == State::live; }));
    std::string out = pull.fingerprint();
    pull.stop();
    EXPECT_TRUE(pull.wait_let_go(std::chrono::seconds(5)));
    return out;
  }

  Running running_;
  base::SystemClock clock_;
  std::unique_ptr<sim::Board> board_;
};

TEST_F(AskBoard, AStreamThatIsPulledAnywayHasTheFingerprintThatAskingGives) {
  start({});
  const std::string print = pulled(Source::stream);
  EXPECT_TRUE(print.starts_with("stream:")) << print;
  std::string asked;  // until the board has noticed that its viewer is gone
  EXPECT_TRUE(eventually([&] {
    asked = ask().fingerprint;
    return asked.find("still:") != std::string::npos && asked.find("stream:") != std::string::npos;
  })) << asked;
  EXPECT_TRUE(is_alike(print, asked)) << print << " " << asked;
}

TEST_F(AskBoard, SoHaveStillsThatArePolled) {
  start({});
  const std::string print = pulled(Source::stills);
  EXPECT_TRUE(print.starts_with("still:")) << print;
  EXPECT_TRUE(is_alike(print, ask().fingerprint));
}

}  // namespace
}  // namespace rookery::camera::test
