// Two cameras whose addresses lead to one board: it never sees a second connection to its stream.
#include <gtest/gtest.h>

#include "tests/camera/pull_support.h"
#include "tests/support/scripted_peer.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;

struct Two {
  explicit Two(sim::BoardOptions options = {})
      : board(running.executor(), with_rate(options),
              std::make_shared<sim::ListSource>(different_pictures(8))) {
    EXPECT_TRUE(board.start().has_value());
  }
  static sim::BoardOptions with_rate(sim::BoardOptions options) {
    options.frames_per_second = 100;
    return options;
  }
  // The stream's address with another way to say "this computer".
  std::string by_name(const std::string& host) const {
    std::string text = board.stream_address();
    const std::string numbers = "127.0.0.1";
    return text.replace(text.find(numbers), numbers.size(), host);
  }
  std::unique_ptr<Pull> pull(const char* name, const std::string& address) {
    Settings settings(*base::CameraName::parse(name));
    settings.stream_address = address;
    return std::make_unique<Pull>(running.executor(), settings, quick(), clock, 1, nullptr, boards);
  }
  bool is_refused(const Pull& pull) const {
    return eventually([&] {
      const auto status = pull.status();
      return status.last_error && status.last_error->code == base::ErrorCode::busy;
    });
  }

  Running running;
  base::SystemClock clock;
  sim::Board board;
  const std::shared_ptr<BoardRegister> boards = std::make_shared<BoardRegister>();
};

TEST(OneBoard, HasOneConnectionUnderTwoNames) {
  Two two;
  const auto anvil = two.pull("anvil", two.board.stream_address());
  const auto bobbin = two.pull("bobbin", two.by_name("localhost"));
  const EveryFrame seen(anvil->feed());
  anvil->start();
  ASSERT_TRUE(seen.wait_for(5));
  bobbin->start();
  ASSERT_TRUE(two.is_refused(*bobbin));
  EXPECT_NE(bobbin->status().last_error->detail.find("anvil"), std::string::npos);
  ASSERT_TRUE(seen.wait_for(seen.count() + 20));
  EXPECT_EQ(two.board.counts().most_streams, 1u);
  EXPECT_EQ(two.board.counts().connections, 1u);
  EXPECT_EQ(bobbin->status().counters.connects, 0u);

  // Once the first lets go, the second gets it: still one at a time.
  const EveryFrame others(bobbin->feed());
  anvil->stop();
  ASSERT_TRUE(others.wait_for(5));
  EXPECT_EQ(two.board.counts().most_streams, 1u);
}

TEST(OneBoard, IsFoundBehindARedirectToo) {
  Two two;
  rookery::test::ScriptedPeer elsewhere;
  elsewhere.always_answer({"HTTP/1.1 302 Found\r\nLocation: " + two.by_name("localhost") +
                           "\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"});
  const auto anvil = two.pull("anvil", two.board.stream_address());
  const EveryFrame seen(anvil->feed());
  anvil->start();
  ASSERT_TRUE(seen.wait_for(5));
  const auto bobbin = two.pull("bobbin", elsewhere.address("/moved"));
  bobbin->start();
  ASSERT_TRUE(two.is_refused(*bobbin));
  EXPECT_EQ(two.board.counts().most_streams, 1u);
  EXPECT_EQ(two.board.counts().stream_requests, 1u);
}

TEST(OneBoard, IsFreeForTheNextCameraOnlyWhenTheSocketOfTheLastIsClosed) {
  Two two;
  for (int round = 0; round < 10; ++round) {
    const auto pull = two.pull("anvil", two.board.stream_address());
    const EveryFrame seen(pull->feed());
    pull->start();
    ASSERT_TRUE(seen.wait_for(1)) << round;
  }
  EXPECT_EQ(two.board.counts().most_streams, 1u);
}

TEST(OneBoard, StillsThatAreAskedForByTwoNamesAreAskedForOnce) {
  Two two;
  std::string address = two.board.still_address();
  Settings anvil(*base::CameraName::parse("anvil"));
  anvil.source = Source::stills;
  anvil.still_address = address;
  anvil.poll_every = 100ms;
  Settings bobbin(*base::CameraName::parse("bobbin"));
  bobbin.source = Source::stills;
  bobbin.still_address = address.replace(address.find("127.0.0.1"), 9, "localhost");
  bobbin.poll_every = 100ms;
  Pull first(two.running.executor(), anvil, quick(), two.clock, 1, nullptr, two.boards);
  Pull second(two.running.executor(), bobbin, quick(), two.clock, 2, nullptr, two.boards);
  const EveryFrame seen(first.feed());
  first.start();
  ASSERT_TRUE(seen.wait_for(2));
  second.start();
  ASSERT_TRUE(two.is_refused(second));
  ASSERT_TRUE(seen.wait_for(seen.count() + 2));
  EXPECT_EQ(second.status().counters.connects, 0u);
}

}  // namespace
}  // namespace rookery::camera::test
