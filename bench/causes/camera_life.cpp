#include "bench/causes/camera_life.h"

#include <algorithm>
#include <utility>

#include "bench/causes/board_side.h"
#include "bench/causes/station_side.h"
#include "bench/causes/troubles.h"

namespace rookery::bench {

using camera::Cause;
using camera::CauseKind;

namespace {

constexpr double kStep_s = 0.02;
constexpr double kDay_s = 86400;

// The one camera and all round it.
class Life {
 public:
  Life(const LifeOptions& options) : world_(options.seed, options.held_out, options.faults) {}

  std::vector<LivedDropout> run() {
    const std::vector<Cause>& causes = world_.causes;
    const int episodes = causes.empty() ? 6 : world_.dice.count(6, 12);
    world_.wall_less_mono = world_.dice.uniform(0, kDay_s);
    station_.begin_stream();
    double quiet = quiet_time();
    for (int n = 0; n < episodes; ++n) {
      const double at = world_.t + quiet;
      const Fault fault = causes.empty() ? hiccup(world_, at)
                                         : plan(world_,
                                                causes[static_cast<std::size_t>(world_.dice.count(
                                                    0, static_cast<int>(causes.size()) - 1))],
                                                at);
      happened_.push_back(fault);
      advance(fault.to + world_.dice.uniform(8, 12), fault.to + 400);
      world_.spans.clear();
      quiet = world_.fresh_next ? world_.dice.uniform(1, 4) : quiet_time();
      if (!world_.fresh_next) jump();
      world_.fresh_next = false;
    }
    return std::move(out_);
  }

 private:
  bool hangs() const { return std::ranges::find(world_.causes, Cause::hang) != world_.causes.end(); }

  // Heat shows in the pictures for minutes before it stops anything.
  double quiet_time() {
    const bool heats = world_.mode > 0.8 && hangs();
    return heats ? world_.dice.uniform(950, 1150) : world_.dice.uniform(90, 200);
  }

  // Nothing happens between two faults for hours; only the last minutes of it are lived through.
  void jump() {
    const bool leaks = world_.mode >= 0.62 && world_.mode < 0.78 && world_.causes.size() == 1 && hangs();
    world_.skip(leaks ? world_.period_s * (1 + world_.dice.normal(0, 0.04))
                      : world_.dice.exponential(4 * 3600));
  }

  void advance(double until, double most) {
    while (world_.t < until || (world_.t < most && !station_.calm())) step();
    world_.near_share = world_.far_share = 0;
    world_.moved = false;
  }

  void step() {
    world_.t += kStep_s;
    const bool dead = world_.on(What::dead) != nullptr;
    if (was_dead_ && !dead) world_.boot_at = world_.t;
    if (dead && wire_.conn.board_knows) wire_.conn.board_knows = wire_.conn.board_streams = false;
    was_dead_ = dead;
    board_.step();
    if (world_.on(What::paused) != nullptr) return station_.pause();
    station_.step();
    if (auto seen = station_.take()) tell(std::move(*seen));
  }

  void tell(camera::DropoutSeen seen) {
    seen.others = others();
    const double began = std::chrono::duration<double>(seen.began.time_since_epoch()).count();
    LivedDropout lived;
    for (const Fault& fault : happened_) {
      if (began > fault.from - 30 && began < fault.to + 25) {
        lived.truth = fault.cause;
        lived.kind = fault.kind;
        lived.second = fault.second;
      }
    }
    // Somebody else who never got in kept nobody out.
    if (lived.truth == Cause::viewer && !world_.viewer_was_there) {
      lived.truth = std::exchange(lived.second, std::nullopt);
      lived.kind = lived.truth == Cause::radio    ? CauseKind::fade
                   : lived.truth == Cause::supply ? CauseKind::brown_out
                                                  : CauseKind::hiccup;
    }
    world_.viewer_was_there = false;
    lived.seen = std::move(seen);
    out_.push_back(std::move(lived));
  }

  camera::OthersSeen others() {
    camera::OthersSeen seen;
    seen.near_live = world_.near;
    seen.far_live = world_.far;
    for (int n = 0; n < world_.near; ++n)
      seen.near_gaps += world_.dice.chance(world_.near_share + 0.004) ? 1 : 0;
    for (int n = 0; n < world_.far; ++n)
      seen.far_gaps += world_.dice.chance(world_.far_share + 0.004) ? 1 : 0;
    return seen;
  }

  World world_;
  Wire wire_;
  BoardSide board_{world_, wire_};
  StationSide station_{world_, wire_};
  bool was_dead_ = false;
  std::vector<Fault> happened_;
  std::vector<LivedDropout> out_;
};

}  // namespace

std::vector<LivedDropout> live(const LifeOptions& options) { return Life(options).run(); }

}  // namespace rookery::bench
