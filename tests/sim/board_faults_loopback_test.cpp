// What a board's faults and limits look like on the wire, and what the truth says of them.
#include <gtest/gtest.h>

#include "sim_support.h"

namespace rookery::sim {
namespace {

using std::chrono::milliseconds;
using test::output_of;
using test::quick;
using test::three_pictures;
using test::Viewer;
using Clock = std::chrono::steady_clock;

constexpr milliseconds kDeadline{20'000};

template <class Ask>
bool comes_true(Ask ask) {
  const auto until = Clock::now() + kDeadline;
  while (!ask()) {
    if (Clock::now() > until) return false;
    std::this_thread::yield();
  }
  return true;
}

std::vector<TruthEvent> truth_of(const Board& board, std::string_view what) {
  std::vector<TruthEvent> all = board.truth();
  std::erase_if(all, [what](const TruthEvent& event) { return event.what != what; });
  return all;
}

double seconds_of(const TruthEvent& event) {
  return std::chrono::duration<double>(event.end - event.start).count();
}

class BoardFaults : public testing::Test {
 protected:
  // Streaming to one viewer, nothing wrong yet.
  void start(BoardOptions options = quick()) {
    board_ = std::make_unique<Board>(running_.executor(), std::move(options),
                                     std::make_shared<ListSource>(three_pictures()));
    ASSERT_TRUE(board_->start());
  }
  ~BoardFaults() override { board_.reset(); }
  test::Running running_;
  std::unique_ptr<Board> board_;
};

TEST_F(BoardFaults, ASlowLorisTricklesByteByByte) {
  start();
  board_->faults().turn_on(Fault::slow_loris, 400);
  Viewer viewer(board_->stream_address(), "");
  ASSERT_TRUE(viewer.hears(0));
  const auto before = Clock::now();
  const std::size_t had = viewer.got().size();
  ASSERT_TRUE(viewer.hears(had + 99));
  // 100 bytes at 400 a second; what was under way when the clock was read may come at once.
  const std::size_t came = viewer.got().size() - had;
  EXPECT_GE(Clock::now() - before, milliseconds(static_cast<int>(came) * 2));
  EXPECT_LT(came, 400U);
  board_->faults().turn_off(Fault::slow_loris);
  EXPECT_TRUE(viewer.hears(20'000));
  EXPECT_EQ(truth_of(*board_, "slow-loris").size(), 1U);
}

TEST_F(BoardFaults, AStallIsAGapOnAConnectionThatGoesOn) {
  start();
  Viewer viewer(board_->stream_address(), "");
  ASSERT_TRUE(viewer.hears(2000));
  board_->faults().once(Fault::stall, 0.5);
  while (viewer.longest_gap() < milliseconds(450)) ASSERT_TRUE(viewer.hears(viewer.got().size()));
  EXPECT_TRUE(viewer.hears(viewer.got().size() + 5000));
  EXPECT_FALSE(viewer.ended());
  EXPECT_EQ(board_->counts().streams_served, 1U);
  const std::vector<TruthEvent> stalls = truth_of(*board_, "stall");
  ASSERT_EQ(stalls.size(), 1U);
  EXPECT_GE(seconds_of(stalls[0]), 0.5);
  EXPECT_LT(seconds_of(stalls[0]), 5);
  EXPECT_EQ(stalls[0].strength, 0.5);
}

TEST_F(BoardFaults, ASlowRadioHoldsItsRate) {
  start();
  Viewer viewer(board_->stream_address(), "");
  ASSERT_TRUE(viewer.hears(2000));
  board_->faults().turn_on(Fault::slow_radio, 400);
  // Until the fault is noticed, and what is then still in buffers, comes fast.
  ASSERT_TRUE(comes_true([&] { return truth_of(*board_, "slow-radio").size() == 1; }));
  while (viewer.hears(viewer.got().size(), milliseconds(1))) {
  }
  const auto before = Clock::now();
  ASSERT_TRUE(viewer.hears(viewer.got().size() + 40'000));
  // 50 000 bytes a second beside one window of 5744 bytes; bursts of loss only lengthen it.
  EXPECT_GE(Clock::now() - before, milliseconds(600));
  board_->faults().turn_off(Fault::slow_radio);
  EXPECT_TRUE(viewer.hears(viewer.got().size() + 40'000));
}

TEST_F(BoardFaults, AFailingSupplyEndsInABrownOutAndANewBoot) {
  start();
  Viewer viewer(board_->stream_address(), "");
  ASSERT_TRUE(viewer.hears(2000));
  board_->faults().schedule(Fault::supply_sag, {}, std::chrono::seconds(60), 0.7);
  board_->faults().schedule(Fault::brown_out, {}, std::chrono::seconds(60), 0.4);
  while (viewer.hears(viewer.got().size())) {
  }
  EXPECT_EQ(viewer.error(), boost::asio::error::connection_reset);
  const std::string status =
      output_of("curl -s -o /dev/null --max-time 10 " + board_->still_address() + "; echo $?");
  EXPECT_EQ(status, "7\n");  // refused: it is without power
  ASSERT_TRUE(comes_true([&] { return board_->counts().boots == 2; }));
  Viewer again(board_->stream_address(), "");
  EXPECT_TRUE(again.hears(2000));
  const std::vector<TruthEvent> outs = truth_of(*board_, "brown-out");
  ASSERT_EQ(outs.size(), 1U);
  EXPECT_GE(seconds_of(outs[0]), 0.4);
  EXPECT_LT(seconds_of(outs[0]), 10);
  EXPECT_EQ(outs[0].kind, TruthKind::fault);
  ASSERT_EQ(truth_of(*board_, "supply-sag").size(), 1U);
}

TEST_F(BoardFaults, ABrownOutIsInTheTruthThoughNobodyWatches) {
  start();
  board_->faults().turn_on(Fault::brown_out, 0.2);
  ASSERT_TRUE(comes_true([&] { return board_->counts().boots == 2; }));
  const std::vector<TruthEvent> outs = truth_of(*board_, "brown-out");
  ASSERT_EQ(outs.size(), 1U);
  EXPECT_GE(seconds_of(outs[0]), 0.2);
}

TEST_F(BoardFaults, AFreezeLastsUntilItsPowerIsCut) {
  start();
  board_->faults().once(Fault::freeze);
  Viewer viewer(board_->stream_address(), "");
  ASSERT_TRUE(comes_true([&] { return truth_of(*board_, "freeze").size() == 1; }));
  const auto frozen_at = truth_of(*board_, "freeze")[0].start;
  board_->cycle_power(milliseconds(300));
  ASSERT_TRUE(comes_true([&] { return board_->counts().boots == 2; }));
  const TruthEvent freeze = truth_of(*board_, "freeze").at(0);
  const TruthEvent cut = truth_of(*board_, "power-cut").at(0);
  EXPECT_EQ(freeze.start, frozen_at);
  EXPECT_GE(cut.start, freeze.end);
  EXPECT_LT(cut.start - freeze.end, std::chrono::seconds(1));
  EXPECT_GE(seconds_of(cut), 0.3);
}

TEST_F(BoardFaults, AViewerThatTakesNothingIsCut) {
  BoardOptions options = quick();
  options.send_timeout = milliseconds(200);
  board_ = std::make_unique<Board>(
      running_.executor(), options,
      std::make_shared<ListSource>(std::vector<Bytes>{test::grey_jpeg(1600, 1200, 90)}));
  ASSERT_TRUE(board_->start());
  Viewer viewer(board_->stream_address(), "");
  ASSERT_TRUE(viewer.hears(0));
  // It stays connected and reads no more: what the system holds for it fills, then the board gives up.
  ASSERT_TRUE(comes_true([&] { return board_->counts().streams_now == 0; }));
  Viewer next(board_->stream_address(), "");
  EXPECT_TRUE(next.hears(2000));
}

TEST_F(BoardFaults, AConnectionBeyondItsSocketsWaitsUnaccepted) {
  BoardOptions options = quick();
  options.sockets = 2;
  options.one_viewer = false;
  start(options);
  Viewer first(board_->stream_address(), "");
  Viewer second(board_->stream_address(), "");
  ASSERT_TRUE(first.hears(2000));
  ASSERT_TRUE(second.hears(2000));
  Viewer third(board_->stream_address(), "");
  EXPECT_FALSE(third.hears(0, milliseconds(300)));
  EXPECT_FALSE(third.ended());
  EXPECT_EQ(board_->counts().connections, 2U);
  first.leave();
  EXPECT_TRUE(third.hears(2000));
  EXPECT_EQ(board_->counts().connections, 3U);
}

TEST_F(BoardFaults, LoopRedirectsToItself) {
  start();
  const std::string address = board_->stream_address();
  const std::string loop = address.substr(0, address.rfind('/')) + "/loop";
  // 47: curl followed as many redirects as it may.
  EXPECT_EQ(output_of("curl -sL --max-redirs 4 --max-time 10 -o /dev/null -w '%{num_redirects} ' " + loop +
                      "; echo $?"),
            "4 47\n");
}

}  // namespace
}  // namespace rookery::sim
