#include "camera/causes.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "camera/cause_table.h"

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

bool is_even(const RestartPattern& pattern) {
  return pattern.same_uptimes >= 2 && pattern.same_uptimes > kEvenShare * pattern.earlier_uptimes;
}

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

std::string many(int count, std::string_view one, std::string_view more) {
  return fmt::format("{} {}", count, count == 1 ? one : more);
}

std::string clock_text(double s) {
  if (s < 100) return fmt::format("{:.1f} s", s);
  if (s < 6000) return fmt::format("{:.0f} min", s / 60);
  if (s < 2 * kDay_s) return fmt::format("{:.1f} h", s / 3600);
  return fmt::format("{:.1f} days", s / kDay_s);
}

void tell_gap(const Evidence& e, std::vector<std::string>& out) {
  out.push_back(fmt::format("No picture for {}{}; usually one every {:.0f} ms", clock_text(e.gap_s),
                            e.over ? "" : " so far", 1e3 * e.usual_interval_s));
  switch (e.old_connection) {
    case OldConnection::went_on:
      out.push_back("The same connection went on afterwards: the board had not forgotten it");
      break;
    case OldConnection::reset:
      out.push_back(
          fmt::format("The old connection was reset {:.1f} s after the gap began: who answers at its address "
                      "no longer knows it",
                      e.ended_after_s));
      break;
    case OldConnection::closed:
      out.push_back(fmt::format("The board closed the stream in order {:.1f} s after its last picture",
                                e.ended_after_s));
      break;
    case OldConnection::cut:
      out.push_back(fmt::format("The stream was cut off in mid-picture {:.1f} s after the last whole one",
                                e.ended_after_s));
      break;
    case OldConnection::given_up:
      out.push_back(
          fmt::format("The old connection stayed silent and was given up after {:.1f} s", e.ended_after_s));
      break;
    case OldConnection::unknown:
      break;
  }
}

void tell_retries(const Evidence& e, std::vector<std::string>& out) {
  const int n = e.attempts_failed;
  switch (e.retries) {
    case Retries::unheard:
      out.push_back(many(n, "new connection was", "new connections were") + " accepted and never answered");
      break;
    case Retries::closed_unheard:
      out.push_back(many(n, "new connection was", "new connections were") + " closed without an answer");
      break;
    case Retries::wrong_answer:
      out.push_back(
          many(n, "answer was", "answers were") +
          (e.status != 0 ? fmt::format(" no picture but HTTP status {}", e.status) : " no whole picture"));
      break;
    case Retries::refused:
      out.push_back(many(n, "new connection was", "new connections were") +
                    " refused: its network runs, its server does not");
      break;
    case Retries::no_answer:
      out.push_back(many(n, "new connection", "new connections") + " met nobody at its address");
      break;
    case Retries::no_name:
      out.push_back("Its name had no address " + many(n, "time", "times"));
      break;
    case Retries::none_needed:
    case Retries::unknown:
      break;
  }
}

void tell_board(const Evidence& e, std::vector<std::string>& out) {
  if (e.restart == Restart::stamp_back) {
    out.push_back(fmt::format("Its own clock fell from {} to {}: it restarted",
                              clock_text(*e.uptime_before_s), clock_text(*e.uptime_after_s)));
    out.push_back(fmt::format("It started {} after its last picture", clock_text(*e.booted_after_s)));
  } else if (e.restart == Restart::stamp_on) {
    out.push_back(
        fmt::format("Its own clock went on ({}): it did not restart", clock_text(*e.uptime_after_s)));
  }
  if (e.exposure == Exposure::ramp && e.luma_settled > 0) {
    out.push_back(fmt::format(
        "The first picture had brightness {:.0f} of 255, a few seconds later {:.0f}: as after a start",
        e.luma_first, e.luma_settled));
  } else if (e.exposure == Exposure::ramp) {
    out.push_back("The first pictures were of another size than those a few seconds later: as after a start");
  }
  if (e.age == Age::fresh)
    out.push_back(fmt::format("The stream was only {} old", clock_text(e.streamed_for_s)));
  if (e.broken_pictures > 0)
    out.push_back(many(e.broken_pictures, "broken picture", "broken pictures") + " from 30 s before on");
  if (e.warmth == Warmth::rising)
    out.push_back(fmt::format("Pictures had grown by {:.0f} % within half an hour: noise, as of a hot sensor",
                              100 * (e.bytes_rise - 1)));
  if (e.place == Place::moved) out.push_back("It came back at another address");
  if (e.announced == Announced::again) out.push_back("It announced its name to the network again");
}

void tell_network(const Evidence& e, std::vector<std::string>& out) {
  if (e.echoes > 0)
    out.push_back(fmt::format("Ping during the gap: {} of {} answered", e.echoes_answered, e.echoes));
  if (e.connects > 0)
    out.push_back(
        fmt::format("Connecting during the gap: {} of {} answered", e.connects_answered, e.connects));
  if (e.old_socket_answered) out.push_back("Its network stack still acknowledged the old connection");
  if (e.others_live > 0)
    out.push_back(fmt::format("{} of {} other cameras on its network stopped within 2 s of it", e.others_gaps,
                              e.others_live));
  if (e.far_gaps > 0)
    out.push_back(fmt::format("{} of {} cameras on other networks stopped as well", e.far_gaps, e.far_live));
  if (e.link_before == LinkBefore::troubled) {
    out.push_back(
        fmt::format("The 10 s before were uneasy: {:.1f} % of packets out of order, round trip {:.0f} ms",
                    100 * e.out_of_order_share, 1e3 * e.round_trip_s));
  } else if (e.link_before == LinkBefore::calm) {
    out.push_back(fmt::format("The 10 s before were calm: {:.1f} % of packets out of order",
                              100 * e.out_of_order_share));
  }
  if (e.own_reader == OwnReader::late)
    out.push_back(fmt::format("This station's own work was {:.1f} s late", e.late_s));
  if (e.burst == Burst::burst)
    out.push_back(
        fmt::format("{} pictures then came within 0.2 s: they had lain in this computer", e.burst_pictures));
  if (e.disk_full) out.push_back("The station's disk was full");
}

void tell_pattern(const Evidence& e, const RestartPattern& p, std::vector<std::string>& out) {
  if (!has_restarted(e)) return;
  out.push_back(fmt::format("Restarts in 7 days: {}, of which {} within 10 s of a stream's start", p.restarts,
                            p.fresh));
  if (is_even(p))
    out.push_back(
        fmt::format("{} of {} earlier restarts came after the same time as this one ({}, ± 10 %): as of a "
                    "program that runs out of memory",
                    p.same_uptimes, p.earlier_uptimes, clock_text(*e.uptime_before_s)));
  if (p.same_time_of_day >= 2)
    out.push_back(
        fmt::format("{} earlier restarts at this time of day: is there a timer?", p.same_time_of_day));
}

std::string remedy_for(Cause cause, const Evidence& e, const RestartPattern& p) {
  switch (cause) {
    case Cause::supply:
      if (p.same_time_of_day >= 2)
        return "Look for a timer or a switched socket: it went at this time of day on other days too.";
      return "With the mains unplugged check plug and wires; then measure the board's 5 V pin while it "
             "streams: under 4.7 V "
             "it needs a supply of at least 5 V 2 A, or a shorter, thicker lead (docs/causes.md).";
    case Cause::radio:
      return fmt::format(
          "Move the board or its aerial, or bring an access point nearer; {:.1f} % of packets came out of "
          "order before. A smaller picture also helps.",
          100 * e.out_of_order_share);
    case Cause::hang:
      if (e.warmth == Warmth::rising)
        return "Give it air or shade: pictures grow noisy before it stops; boards were reported unsteady "
               "from about 50 °C in a case.";
      return e.restart == Restart::stamp_back ? "Update or change the board's program: it stops and restarts "
                                                "by itself; a smaller picture needs less memory."
                                              : "Cycle its power if it does not come back; if this happens "
                                                "again, change its program or picture size.";
    case Cause::network:
      if (e.place == Place::moved)
        return "Give the board a fixed address in your router: it came back at another one.";
      if (e.others_gaps >= 2)
        return fmt::format("Look at the access point or switch: {} of {} other cameras stopped with it.",
                           e.others_gaps, e.others_live);
      return "Look for a second machine with the board's address, and give the board a fixed one in your "
             "router.";
    case Cause::viewer:
      return "Close what else watches this board (a browser tab, another program): it serves one viewer; let "
             "others watch "
             "the station instead.";
    case Cause::sensor:
      return "Unplug the board, then press the sensor's ribbon home and close its latch; if that does not "
             "help, the sensor is worn.";
    case Cause::station:
      return fmt::format(
          "This computer was {:.1f} s late: see what else runs on it, its memory and its disk (`rookery "
          "archive "
          "state`).",
          e.late_s);
  }
  return {};
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
  tell_gap(evidence, out.evidence);
  tell_retries(evidence, out.evidence);
  tell_board(evidence, out.evidence);
  tell_network(evidence, out.evidence);
  tell_pattern(evidence, pattern, out.evidence);

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
