#include "camera/causes.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "camera/cause_clues.h"
#include "camera/cause_table.h"
#include "camera/cause_words.h"

namespace rookery::camera {
namespace {

// When a cause is named: VISION's rule, more than this and so many times as likely as the next.
constexpr double kNamedFrom = 0.75;
constexpr double kAhead = 3;
// A clue speaks for a cause when it is so many times as frequent with it as with the others on average.
constexpr double kSpeaks = 1.5;
constexpr double kSpeaksLoudly = 3;
constexpr int kWitnesses = 2;  // other dropouts that looked like this cause
// Before so many restarts nobody can say that it is the supply rather than a fault of the program.
constexpr int kLeastRestarts = 3;
// Whatever the camera's other dropouts were, its own clues must leave the cause so likely.
constexpr double kLeastOwn = 0.1;

// Naive Bayes over the clues that are known.
KindShares compute_posterior(const Clues& clues, const KindShares& expected) {
  KindShares logs{};
  for (std::size_t kind = 0; kind < kKinds; ++kind) {
    logs[kind] = std::log(expected[kind]);
    for (std::size_t clue = 0; clue < kClues; ++clue) {
      if (clues[clue] != 0) logs[kind] += std::log(likelihood(clue, clues[clue], kind));
    }
  }
  const double most = *std::ranges::max_element(logs);
  KindShares out{};
  double sum = 0;
  for (std::size_t kind = 0; kind < kKinds; ++kind) sum += out[kind] = std::exp(logs[kind] - most);
  for (double& weight : out) weight /= sum;
  return out;
}

// Whether anything that was seen of it speaks for this kind, rather than all that is left. Others of the same
// cause are a second witness and never the only one.
bool has_evidence(CauseKind kind, const Clues& clues, const Habit& habit) {
  const auto cause = cause_of(kind);
  int speaking = 0;
  int loudly = 0;
  for (std::size_t clue = 0; clue < kClues; ++clue) {
    if (clues[clue] == 0) continue;
    double others = 0;
    int n = 0;
    for (std::size_t other = 0; other < kKinds; ++other) {
      if (cause_of(static_cast<CauseKind>(other)) == cause) continue;
      others += likelihood(clue, clues[clue], other);
      ++n;
    }
    const double times = likelihood(clue, clues[clue], static_cast<std::size_t>(kind)) * n / others;
    if (times > kSpeaks) ++speaking;
    if (times > kSpeaksLoudly) ++loudly;
  }
  const bool as_before = habit.like.at(static_cast<std::size_t>(*cause)) >= kWitnesses;
  return loudly >= 1 || speaking >= (as_before ? 1 : 2);
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
  const Habit habit = find_habit(began, past);
  const KindShares weights = compute_posterior(clues, expect(kPrior, habit));
  Ranking out;
  out.own = compute_posterior(clues_of(evidence), kPrior);
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
  if (std::string line = habit_line(habit, out.causes[0].cause); !line.empty() && out.unexplained < 0.5)
    out.evidence.push_back(std::move(line));

  const RankedCause& first = out.causes[0];
  const double next = std::max(out.causes[1].probability, out.unexplained);
  const bool clear = first.probability > kNamedFrom && first.probability > kAhead * next &&
                     has_evidence(*out.kind, clues, habit) && share_of(first.cause, out.own) > kLeastOwn;
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

PastDropout to_past(base::WallTime began, const Evidence& evidence, const Ranking& ranking) {
  PastDropout out;
  out.began = began;
  out.restarted = ranking.restarted;
  out.streamed_for_s = evidence.streamed_for_s;
  out.uptime_before_s = evidence.uptime_before_s;
  out.booted_after_s = evidence.booted_after_s;
  out.own = ranking.own;
  return out;
}

}  // namespace rookery::camera
