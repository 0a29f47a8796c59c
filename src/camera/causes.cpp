#include "camera/causes.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "camera/cause_table.h"
#include "camera/cause_words.h"

namespace rookery::camera {
namespace {

constexpr std::array<std::string_view, kCauses> kNames{"supply", "radio",  "hang",   "network",
                                                       "viewer", "sensor", "station"};
constexpr std::array<std::string_view, kCauses> kTitles{"supply",
                                                        "radio",
                                                        "hang or heat",
                                                        "network or address",
                                                        "another viewer",
                                                        "sensor or ribbon",
                                                        "station overloaded"};

constexpr double kDay_s = 86400;
constexpr double kRemembered_s = 7 * kDay_s;       // restarts count for so long
constexpr double kRememberedEven_s = 30 * kDay_s;  // their evenness needs more of them
constexpr double kSameTime_s = 300;
constexpr double kFreshFor_s = 10;      // as dropout.cpp
constexpr double kAtOnce_s = 4;         // as dropout.cpp
constexpr double kLeastUptime_s = 600;  // shorter ones are one trouble with the start
constexpr double kSameUptime = 0.1;     // chosen, no source
constexpr double kEvenShare = 0.35;     // chosen on simulated runs

// When a cause is named: VISION's rule, more than this and so many times as likely as the next.
constexpr double kNamedFrom = 0.75;
constexpr double kAhead = 3;
// A clue speaks for a cause when it is so many times as frequent with it as with the others on average.
constexpr double kSpeaks = 1.5;
constexpr double kSpeaksLoudly = 3;
// Before so many restarts nobody can say that it is the supply rather than a fault of the program.
constexpr int kLeastRestarts = 3;

double seconds(base::Microseconds time) { return std::chrono::duration<double>(time).count(); }

std::uint8_t habit_clue(const Evidence& evidence, const RestartPattern& pattern) {
  if (!has_restarted(evidence) || pattern.booted_at_once + pattern.booted_later < 2) return 0;
  return pattern.booted_at_once == 0 ? 3 : pattern.booted_later == 0 ? 1 : 2;
}

std::uint8_t pattern_clue(const Evidence& evidence, const RestartPattern& pattern) {
  if (!has_restarted(evidence)) return evidence.restart == Restart::stamp_on ? 1 : 0;
  if (is_even(pattern)) return 4;
  return pattern.restarts < kLeastRestarts ? 2 : 3;
}

std::uint8_t clockwork_clue(const Evidence& evidence, const RestartPattern& pattern) {
  if (!has_restarted(evidence)) return 0;
  return pattern.same_time_of_day >= 2 ? 2 : 1;
}

}  // namespace

bool is_even(const RestartPattern& pattern) {
  return pattern.same_uptimes >= 2 && pattern.same_uptimes > kEvenShare * pattern.earlier_uptimes;
}

std::string_view name_of(Cause cause) { return kNames.at(static_cast<std::size_t>(cause)); }
std::string_view title_of(Cause cause) { return kTitles.at(static_cast<std::size_t>(cause)); }

std::optional<Cause> cause_of(CauseKind kind) {
  switch (kind) {
    case CauseKind::brown_out:
    case CauseKind::switched_off:
      return Cause::supply;
    case CauseKind::fade:
      return Cause::radio;
    case CauseKind::watchdog:
    case CauseKind::frees_itself:
    case CauseKind::until_cycled:
    case CauseKind::frozen:
    case CauseKind::leak:
      return Cause::hang;
    case CauseKind::access_point:
    case CauseKind::moved:
    case CauseKind::conflict:
      return Cause::network;
    case CauseKind::viewer:
      return Cause::viewer;
    case CauseKind::no_picture:
    case CauseKind::bad_picture:
      return Cause::sensor;
    case CauseKind::overload:
      return Cause::station;
    case CauseKind::hiccup:
      break;
  }
  return std::nullopt;
}

std::optional<Cause> dropout_cause_of(std::string_view word) {
  for (std::size_t n = 0; n < kCauses; ++n) {
    if (kNames[n] == word) return static_cast<Cause>(n);
  }
  return std::nullopt;
}

bool has_restarted(const Evidence& evidence) {
  if (evidence.restart != Restart::unknown) return evidence.restart == Restart::stamp_back;
  // A board without stamps. It forgot its connection, or nothing listened for a while, and its picture
  // settled; or it forgot the connection after nothing of it had answered, with a calm link before.
  const bool reset = evidence.old_connection == OldConnection::reset;
  const bool forgot = reset || evidence.retries == Retries::refused || evidence.reach == Reach::came_back;
  const bool was_gone = evidence.reach == Reach::never || evidence.reach == Reach::came_back;
  return forgot && (evidence.exposure == Exposure::ramp ||
                    (reset && was_gone && evidence.link_before != LinkBefore::troubled));
}

RestartPattern find_pattern(const Evidence& evidence, base::WallTime began,
                            std::span<const PastDropout> past) {
  RestartPattern out;
  if (!has_restarted(evidence)) return out;
  out.restarts = 1;
  out.fresh = evidence.age == Age::fresh ? 1 : 0;
  for (const PastDropout& one : past) {
    const double ago_s = seconds(began - one.began);
    if (!one.restarted || ago_s <= 0 || ago_s > kRememberedEven_s) continue;
    if (ago_s <= kRemembered_s) {
      ++out.restarts;
      if (one.streamed_for_s < kFreshFor_s) ++out.fresh;
    }
    if (one.booted_after_s) ++(*one.booted_after_s < kAtOnce_s ? out.booted_at_once : out.booted_later);
    if (evidence.uptime_before_s && one.uptime_before_s && *one.uptime_before_s > kLeastUptime_s) {
      ++out.earlier_uptimes;
      const double ratio = *one.uptime_before_s / std::max(1.0, *evidence.uptime_before_s);
      if (std::abs(ratio - 1) < kSameUptime) ++out.same_uptimes;
    }
    // How far from a whole number of days.
    const double off_s = std::abs(std::remainder(ago_s, kDay_s));
    if (off_s < kSameTime_s && ago_s > kDay_s / 2) ++out.same_time_of_day;
  }
  return out;
}

std::array<std::uint8_t, kClues> clues_of(const Evidence& evidence, const RestartPattern& pattern) {
  const auto u = [](auto value) { return static_cast<std::uint8_t>(value); };
  return {u(evidence.old_connection),
          u(evidence.retries),
          u(evidence.restart),
          u(evidence.reach),
          u(evidence.others),
          u(evidence.link_before),
          u(evidence.own_reader),
          u(evidence.burst),
          u(evidence.broken),
          u(evidence.exposure),
          u(evidence.age),
          u(evidence.length),
          u(evidence.warmth),
          u(evidence.place),
          u(evidence.announced),
          pattern_clue(evidence, pattern),
          clockwork_clue(evidence, pattern),
          u(evidence.booted),
          habit_clue(evidence, pattern)};
}

namespace {

using Weights = std::array<double, kKinds>;

// Naive Bayes over the clues that are known. Clues are not independent of each other (a restart brings a
// reset and a ramp); kTemper takes back what they say twice.
Weights compute_posterior(const std::array<std::uint8_t, kClues>& clues) {
  Weights logs{};
  for (std::size_t kind = 0; kind < kKinds; ++kind) {
    logs[kind] = std::log(kPrior[kind]);
    for (std::size_t clue = 0; clue < kClues; ++clue) {
      if (clues[clue] != 0) logs[kind] += kTemper * std::log(kLikelihood[clue][clues[clue]][kind]);
    }
  }
  const double most = *std::ranges::max_element(logs);
  Weights out{};
  double sum = 0;
  for (std::size_t kind = 0; kind < kKinds; ++kind) sum += out[kind] = std::exp(logs[kind] - most);
  for (double& weight : out) weight /= sum;
  return out;
}

// Whether anything that was seen speaks for this kind, rather than all that is left.
bool has_evidence(CauseKind kind, const std::array<std::uint8_t, kClues>& clues) {
  const auto cause = cause_of(kind);
  int speaking = 0;
  int loudly = 0;
  for (std::size_t clue = 0; clue < kClues; ++clue) {
    if (clues[clue] == 0) continue;
    const auto& row = kLikelihood[clue][clues[clue]];
    double others = 0;
    int n = 0;
    for (std::size_t other = 0; other < kKinds; ++other) {
      if (cause_of(static_cast<CauseKind>(other)) == cause) continue;
      others += row[other];
      ++n;
    }
    const double times = row[static_cast<std::size_t>(kind)] * n / others;
    if (times > kSpeaks) ++speaking;
    if (times > kSpeaksLoudly) ++loudly;
  }
  return loudly >= 1 || speaking >= 2;
}

// Why nothing is named, and what would help.
void tell_unclear(const Evidence& e, const RestartPattern& p, Ranking& out) {
  if (out.restarted && p.restarts < kLeastRestarts) {
    out.verdict = fmt::format("Restarted, cause not known (restart {} in 7 days; from {} on it can be told)",
                              p.restarts, kLeastRestarts);
    out.remedy = "Nothing to do yet; if it happens often, measure its supply while it streams.";
    return;
  }
  if (out.unexplained > 0.5) {
    out.verdict = fmt::format("A hiccup: not enough to tell a cause ({:.0f} % that it is of no account)",
                              100 * out.unexplained);
    out.remedy = "Nothing to do unless it becomes frequent.";
    return;
  }
  out.verdict = fmt::format("Not enough to tell: {} {:.0f} %, {} {:.0f} %", title_of(out.causes[0].cause),
                            100 * out.causes[0].probability, title_of(out.causes[1].cause),
                            100 * out.causes[1].probability);
  out.remedy = e.over ? "More will be known if it happens again."
                      : "More will be known when it is back: what a fresh start looks like tells most.";
}

}  // namespace

Ranking rank_causes(const Evidence& evidence, base::WallTime began, std::span<const PastDropout> past) {
  const RestartPattern pattern = find_pattern(evidence, began, past);
  const auto clues = clues_of(evidence, pattern);
  const Weights weights = compute_posterior(clues);
  Ranking out;
  out.restarted = has_restarted(evidence);
  for (std::size_t n = 0; n < kCauses; ++n) out.causes[n].cause = static_cast<Cause>(n);
  for (std::size_t kind = 0; kind < kKinds; ++kind) {
    const auto cause = cause_of(static_cast<CauseKind>(kind));
    (cause ? out.causes[static_cast<std::size_t>(*cause)].probability : out.unexplained) += weights[kind];
  }
  std::ranges::stable_sort(out.causes, std::greater{}, &RankedCause::probability);
  double most = -1;
  for (std::size_t n = 0; n < kKinds; ++n) {
    const auto kind = static_cast<CauseKind>(n);
    if (cause_of(kind) != out.causes[0].cause || weights[n] <= most) continue;
    most = weights[n];
    out.kind = kind;
  }
  out.evidence = evidence_lines(evidence, pattern);

  const RankedCause& first = out.causes[0];
  const double next = std::max(out.causes[1].probability, out.unexplained);
  const bool clear =
      first.probability > kNamedFrom && first.probability > kAhead * next && has_evidence(*out.kind, clues);
  const bool too_early = first.cause == Cause::supply && pattern.restarts < kLeastRestarts;
  if (clear && !too_early) {
    out.named = first.cause;
    out.verdict =
        fmt::format("{} ({:.0f} %; next {} {:.0f} %)", title_of(first.cause), 100 * first.probability,
                    title_of(out.causes[1].cause), 100 * out.causes[1].probability);
    out.remedy = remedy_for(first.cause, evidence, pattern);
  } else {
    tell_unclear(evidence, pattern, out);
  }
  return out;
}

}  // namespace rookery::camera
