// What is seen of make-believe boards that fail over real sockets.
#include <gtest/gtest.h>

#include "camera/causes.h"
#include "sim/frame_source.h"
#include "tests/camera/pull_support.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;

// Short enough for a test; what a station takes is in gap_recorder.h and pull.h.
PullLimits fast() {
  PullLimits out = quick();
  out.gaps = {.look = 50ms, .ask_after = 100ms, .least = 400ms, .settle = 400ms, .first_word = 30s};
  return out;
}

// A pull of a board, and every dropout that it tells of.
class Dropping : public testing::Test {
 protected:
  Dropping()
      : board_(running_.executor(), options(), std::make_shared<sim::ListSource>(different_pictures(20))) {
    EXPECT_TRUE(board_.start().has_value());
    PullShared shared;
    shared.gaps = std::make_shared<GapBoard>();
    shared.on_dropout = [this](const DropoutSeen& seen) {
      const std::lock_guard lock(mutex_);
      told_.push_back(seen);
    };
    pull_ = std::make_unique<Pull>(running_.executor(), stream_of(board_.stream_address()), fast(), clock_, 1,
                                   nullptr, std::move(shared));
    pull_->start();
    EXPECT_TRUE(eventually([&] { return pull_->status().counters.published > 40; }));
  }
  ~Dropping() override { pull_.reset(); }

  static sim::BoardOptions options() {
    sim::BoardOptions out;
    out.frames_per_second = 30;
    return out;
  }
  sim::Faults& faults() { return board_.faults(); }
  Evidence first() {
    EXPECT_TRUE(eventually([&] { return count() > 0; }));
    const std::lock_guard lock(mutex_);
    return told_.empty() ? Evidence() : read_evidence(told_.front());
  }
  std::size_t count() const {
    const std::lock_guard lock(mutex_);
    return told_.size();
  }

  Running running_;
  base::SystemClock clock_;
  sim::Board board_;
  std::unique_ptr<Pull> pull_;
  mutable std::mutex mutex_;
  std::vector<DropoutSeen> told_;
};

TEST_F(Dropping, AResetConnectionIsSeenAsOneAndTheBoardsClockWentOn) {
  faults().once(sim::Fault::reset);
  const Evidence e = first();
  EXPECT_EQ(e.old_connection, OldConnection::reset);
  EXPECT_EQ(e.restart, Restart::stamp_on);
}

TEST_F(Dropping, APowerCutIsSeenAsARestart) {
  board_.cycle_power(1500ms);
  const Evidence e = first();
  EXPECT_EQ(e.old_connection, OldConnection::reset);
  EXPECT_EQ(e.restart, Restart::stamp_back);
  EXPECT_EQ(e.retries, Retries::refused);
  EXPECT_GT(e.connects, 0);
}

TEST_F(Dropping, AStallIsSeenAsSilenceOnAConnectionThatGoesOnWhileTheBoardAnswers) {
  faults().once(sim::Fault::stall, 1.0);
  const Evidence e = first();
  EXPECT_EQ(e.old_connection, OldConnection::went_on);
  EXPECT_EQ(e.restart, Restart::stamp_on);
  EXPECT_GT(e.connects_answered, 0);
  EXPECT_GE(e.gap_s, 0.9);
}

TEST_F(Dropping, AFrozenBoardAcceptsConnectionsAndAnswersNone) {
  faults().turn_on(sim::Fault::freeze);
  EXPECT_TRUE(eventually([&] { return pull_->status().counters.connects >= 3; }));
  faults().turn_off(sim::Fault::freeze);
  board_.cycle_power(100ms);
  const Evidence e = first();
  EXPECT_TRUE(e.old_connection == OldConnection::given_up || e.old_connection == OldConnection::kept_alive);
  EXPECT_EQ(e.retries, Retries::unheard);
  EXPECT_EQ(e.restart, Restart::stamp_back);
}

TEST_F(Dropping, AnotherViewerIsSeenAsConnectionsThatAreNeverAnswered) {
  // It waits in line for the one stream; when ours breaks, it is first.
  boost::asio::io_context io;
  boost::asio::ip::tcp::socket other(io);
  const auto address = net::Address::parse(board_.stream_address()).value();
  other.connect({boost::asio::ip::make_address("127.0.0.1"), address.port});
  const std::string request = "GET /stream HTTP/1.1\r\nHost: board\r\n\r\n";
  boost::asio::write(other, boost::asio::buffer(request));
  EXPECT_TRUE(eventually([&] { return board_.counts().streams_now == 2; }));
  // Ours is given up: nothing came for longer than it waits.
  faults().once(sim::Fault::stall, 2.5);
  std::jthread reading([&other](const std::stop_token& stop) {
    std::array<char, 65536> buffer;
    boost::system::error_code over;
    while (!stop.stop_requested() && !over) other.read_some(boost::asio::buffer(buffer), over);
  });
  EXPECT_TRUE(eventually([&] { return pull_->status().counters.connects >= 3; }));
  boost::system::error_code ignored;
  other.shutdown(boost::asio::ip::tcp::socket::shutdown_both, ignored);
  reading.request_stop();
  const Evidence e = first();
  EXPECT_EQ(e.retries, Retries::unheard);
  EXPECT_EQ(e.restart, Restart::stamp_on);
  // Our stream ended by a stall, as when a board hangs: both are likely, and nothing else is.
  const Ranking ranking = rank_causes(e, clock_.wall(), {});
  EXPECT_TRUE(ranking.causes[0].cause == Cause::viewer || ranking.causes[1].cause == Cause::viewer)
      << ranking.verdict;
}

TEST_F(Dropping, QuestionsAreNeverAStream) {
  faults().once(sim::Fault::stall, 1.0);
  const Evidence e = first();
  EXPECT_GT(e.connects, 0);
  EXPECT_EQ(board_.counts().most_streams, 1u);
}

}  // namespace
}  // namespace rookery::camera::test
