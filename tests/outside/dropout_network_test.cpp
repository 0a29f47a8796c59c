// What is seen of a dropout when the kernel itself loses packets: a make-believe board and a pull on the
// loopback of a network namespace of their own, with netem where this kernel has it, else with nftables'
// random drops.
#include <gtest/gtest.h>

#include <sched.h>

#include <fstream>

#include "camera/cause_clues.h"
#include "camera/causes.h"
#include "sim/frame_source.h"
#include "tests/camera/pull_support.h"
#include "tests/support/needs.h"
#include "tests/support/program.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;
using rookery::test::run_program;

bool runs(std::vector<std::string> command) { return run_program(std::move(command)).exit_code == 0; }

// The loopback of this thread and of all that it starts from now on.
bool enter_own_network() {
  if (::unshare(CLONE_NEWNET) != 0) return false;
  if (!runs({"ip", "link", "set", "lo", "mtu", "1500", "up"})) return false;
  std::ofstream("/proc/sys/net/ipv4/ping_group_range") << "0 0";
  return true;
}

// Packets that the board sends and those that it gets are lost with that probability.
class Loss {
 public:
  // False where the kernel can do neither.
  bool set(int per_cent) {
    clear();
    if (per_cent == 0) return true;
    netem_ = runs({"tc", "qdisc", "add", "dev", "lo", "root", "netem", "loss", std::to_string(per_cent) + "%",
                   "delay", "4ms"});
    if (netem_) return true;
    return runs({"nft", "add table ip loss"}) &&
           runs({"nft", "add chain ip loss in { type filter hook input priority 0; }"}) &&
           runs({"nft", per_cent == 100
                            ? "add rule ip loss in drop"
                            : fmt::format("add rule ip loss in numgen random mod 100 < {} drop", per_cent)});
  }
  void clear() {
    run_program({"tc", "qdisc", "del", "dev", "lo", "root"});
    run_program({"nft", "delete", "table", "ip", "loss"});
  }
  bool netem() const { return netem_; }

 private:
  bool netem_ = false;
};

class DropoutNetwork : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_PROGRAM("ip", "iproute2");
    ROOKERY_NEEDS_PROGRAM("nft", "nftables");
    ROOKERY_NEEDS_OF_KERNEL(enter_own_network(), "no network namespaces (needs to be run as root)");
    ROOKERY_NEEDS_OF_KERNEL(loss_.set(10), "this kernel has neither netem nor nftables");
    RecordProperty("loss", loss_.netem() ? "netem" : "nftables");
    loss_.clear();
    running_.emplace();
    sim::BoardOptions options;
    options.frames_per_second = 20;
    options.send_timeout = 20s;  // a sender that doubles its patience goes on late
    board_.emplace(running_->executor(), options,
                   std::make_shared<sim::ListSource>(different_pictures(20, 320, 240)));
    ASSERT_TRUE(board_->start().has_value());
    PullShared shared;
    shared.on_dropout = [this](const DropoutSeen& seen) {
      const std::lock_guard lock(mutex_);
      told_.push_back(seen);
    };
    PullLimits limits;  // a station's own
    limits.gaps.settle = 1s;
    pull_.emplace(running_->executor(), stream_of(board_->stream_address()), limits, clock_, 1, nullptr,
                  std::move(shared));
    pull_->start();
    ASSERT_TRUE(eventually([&] { return pull_->status().counters.published > 100; }));
  }
  void TearDown() override {
    pull_.reset();
    board_.reset();
    running_.reset();
  }
  bool in_gap_for(std::chrono::milliseconds time) const {
    return eventually([&] {
      const auto last = pull_->status().last_frame_at;
      return last && clock_.wall() - *last > time;
    });
  }
  Evidence told() {
    EXPECT_TRUE(eventually(
        [&] {
          const std::lock_guard lock(mutex_);
          return !told_.empty();
        },
        60s));
    const std::lock_guard lock(mutex_);
    const Evidence out = told_.empty() ? Evidence() : read_evidence(told_.back());
    for (const std::string& line : rank_causes(out, clock_.wall(), {}).evidence)
      std::printf("  %s\n", line.c_str());
    return out;
  }

  Loss loss_;
  base::SystemClock clock_;
  std::optional<Running> running_;
  std::optional<sim::Board> board_;
  std::optional<Pull> pull_;
  std::mutex mutex_;
  std::vector<DropoutSeen> told_;
};

TEST_F(DropoutNetwork, AfterAFadeTheSameConnectionGoesOnAndNothingAnsweredInIt) {
  ASSERT_TRUE(loss_.set(100));
  ASSERT_TRUE(in_gap_for(3500ms));
  loss_.clear();
  const Evidence e = told();
  EXPECT_EQ(e.old_connection, OldConnection::went_on);
  EXPECT_EQ(e.restart, Restart::stamp_on);
  EXPECT_GE(e.echoes, 1) << "ping was allowed";
  EXPECT_EQ(e.echoes_answered, 0);
  EXPECT_TRUE(e.reach == Reach::never || e.reach == Reach::came_back);
}

TEST_F(DropoutNetwork, ABoardThatLostItsPowerResetsTheOldConnectionWhenItIsAskedAgain) {
  // Packets are lost first: else this computer's kernel would reset the connection at once, as a board
  // without power cannot.
  ASSERT_TRUE(loss_.set(100));
  board_->cycle_power(1s);
  ASSERT_TRUE(in_gap_for(4500ms));
  loss_.clear();
  const Evidence e = told();
  EXPECT_EQ(e.old_connection, OldConnection::reset);
  EXPECT_GT(e.ended_after_s, 4);
  EXPECT_LT(e.ended_after_s, 10) << "asked every 5 s, not given up";
  EXPECT_EQ(e.restart, Restart::stamp_back);
  EXPECT_EQ(e.booted, Booted::at_once);
  EXPECT_TRUE(has_restarted(e));
}

TEST_F(DropoutNetwork, LostPacketsBeforeAFadeAreTrouble) {
  ASSERT_TRUE(loss_.set(12));
  const auto before = pull_->status().counters.published;
  ASSERT_TRUE(eventually([&] { return pull_->status().counters.published > before + 120; }, 60s));
  ASSERT_TRUE(loss_.set(100));
  ASSERT_TRUE(in_gap_for(3500ms));
  loss_.clear();
  const Evidence e = told();
  EXPECT_TRUE(e.link_before == LinkBefore::troubled || e.link_before == LinkBefore::bad);
  EXPECT_NE(e.restart, Restart::stamp_back);
}

}  // namespace
}  // namespace rookery::camera::test
