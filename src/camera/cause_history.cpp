#include "camera/cause_history.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "camera/cause_clues.h"

namespace rookery::camera {
namespace {

constexpr double kDay_s = 86400;
constexpr double kRemembered_s = 7 * kDay_s;       // restarts count for so long
constexpr double kRememberedEven_s = 30 * kDay_s;  // their evenness needs more of them
constexpr double kSameTime_s = 300;
constexpr double kFreshFor_s = 10;      // as dropout.cpp
constexpr double kLeastUptime_s = 600;  // shorter ones are one trouble with the start
constexpr double kSameUptime = 0.15;    // chosen, no source
constexpr double kEvenShare = 0.35;     // chosen on simulated runs
// How much of what is expected comes from the camera's other dropouts, when there are many. Three of four
// simulated runs have one cause and the others two, so that 7 of 8 dropouts have the cause of another one.
constexpr double kStick = 0.85;
constexpr double kHalfKnown = 1;   // with so many others, half of that; chosen on simulated runs
constexpr double kSameKind = 0.5;  // chosen: of those that recur, how many are of the same kind again

double seconds(base::Microseconds time) { return std::chrono::duration<double>(time).count(); }

}  // namespace

bool is_even(const RestartPattern& pattern) {
  return pattern.same_uptimes >= 2 && pattern.same_uptimes > kEvenShare * pattern.others_uptimes;
}

namespace {

// One restart, and how long the board had run when it stopped.
struct Restarted {
  base::WallTime began{};
  double uptime_s = 0;  // 0: not known
};

// Of a board without a clock of its own: as long as since the restart before.
void fill_uptimes(std::vector<Restarted>& restarts) {
  std::ranges::sort(restarts, {}, &Restarted::began);
  for (std::size_t n = 1; n < restarts.size(); ++n) {
    if (restarts[n].uptime_s == 0) restarts[n].uptime_s = seconds(restarts[n].began - restarts[n - 1].began);
  }
}

}  // namespace

RestartPattern find_pattern(const Evidence& evidence, base::WallTime began,
                            std::span<const PastDropout> others) {
  RestartPattern out;
  if (!has_restarted(evidence)) return out;
  out.restarts = 1;
  out.fresh = evidence.age == Age::fresh ? 1 : 0;
  std::vector<Restarted> all{{began, evidence.uptime_before_s.value_or(0)}};
  for (const PastDropout& one : others) {
    const double apart_s = std::abs(seconds(began - one.began));
    if (!one.restarted || one.began == began || apart_s > kRememberedEven_s) continue;
    if (apart_s <= kRemembered_s) {
      ++out.restarts;
      if (one.streamed_for_s < kFreshFor_s) ++out.fresh;
    }
    all.push_back({one.began, one.uptime_before_s.value_or(0)});
    // How far from a whole number of days.
    const double off_s = std::abs(std::remainder(apart_s, kDay_s));
    if (off_s < kSameTime_s && apart_s > kDay_s / 2) ++out.same_time_of_day;
  }
  fill_uptimes(all);
  out.uptime_s = std::ranges::find(all, began, &Restarted::began)->uptime_s;
  for (const Restarted& one : all) {
    if (one.began == began || one.uptime_s < kLeastUptime_s || out.uptime_s == 0) continue;
    ++out.others_uptimes;
    if (std::abs(one.uptime_s / out.uptime_s - 1) < kSameUptime) ++out.same_uptimes;
  }
  return out;
}

Habit find_habit(base::WallTime began, std::span<const PastDropout> others) {
  Habit out;
  double sum = 0;
  for (const PastDropout& one : others) {
    if (one.began == began || std::abs(seconds(began - one.began)) > kRemembered_s) continue;
    double weight = 0;
    for (std::size_t kind = 0; kind < kKinds; ++kind) {
      out.shares[kind] += one.own[kind];
      weight += one.own[kind];
    }
    if (weight <= 0) continue;
    sum += weight;
    ++out.dropouts;
    for (std::size_t cause = 0; cause < kCauses; ++cause)
      out.like[cause] += share_of(static_cast<Cause>(cause), one.own) > 0.5 * weight ? 1 : 0;
  }
  if (sum > 0)
    for (double& share : out.shares) share /= sum;
  return out;
}

KindShares expect(const KindShares& base, const Habit& habit) {
  const double stick = kStick * habit.dropouts / (habit.dropouts + kHalfKnown);
  KindShares out{};
  for (std::size_t n = 0; n < kKinds; ++n) {
    const auto cause = cause_of(static_cast<CauseKind>(n));
    double recurs = habit.shares[n];
    // The same cause need not show the same way again.
    if (cause) {
      const double as_usual = share_of(*cause, habit.shares) * base[n] / share_of(*cause, base);
      recurs = kSameKind * recurs + (1 - kSameKind) * as_usual;
    }
    out[n] = (1 - stick) * base[n] + stick * recurs;
  }
  return out;
}

}  // namespace rookery::camera
