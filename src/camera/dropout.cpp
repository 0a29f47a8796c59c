#include "camera/dropout.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <span>
#include <utility>

#include "jpeg/luma_grid.h"

namespace rookery::camera {

using base::MonoTime;
using std::chrono::duration;
using std::chrono::milliseconds;
using std::chrono::seconds;

namespace {

constexpr double kGapTimes = 3;         // a gap: more than 3 medians, or the median and 6 deviations
constexpr double kGapDeviations = 6;    // (robust outlier rule; chosen, no source)
constexpr double kMadToSigma = 1.4826;  // of a normal distribution
constexpr seconds kBefore{10};          // how long the link is looked at before a gap
constexpr double kTroubledShare =
    0.03;                             // of segments out of order; a calm link has under 1 % (simulated runs)
constexpr double kBadShare = 0.05;    // a hiccup has not so many (simulated runs)
constexpr double kTroubledTimes = 3;  // round trip against its own usual, or intervals' spread
constexpr std::uint32_t kLeastSegments = 40;
constexpr double kRisen = 1.06;      // picture size over 10 min: noise of a hot sensor (simulated runs)
constexpr float kRampLuma = 8;       // steps of 255 between the first pictures and the settled ones
constexpr double kRampBytes = 0.75;  // dark or green first pictures are smaller
constexpr double kRampBytesMore = 1.35;
constexpr double kClockSlack_s = 2;        // of a board's clock against ours, over the gap
constexpr double kClockSlackShare = 0.01;  // crystals are good to 0.01 %; RC clocks in sleep to some per cent
constexpr double kAtOnce_s = 4;            // a supply that falls restarts the board, once or several times
constexpr double kFreshFor_s = 10;
constexpr double kLateLeast_s = 0.4;  // of our own timers; less is of no account to a gap of 2 s
constexpr milliseconds kHeardApart{1500};
// Longer than a sender waits before it tries again what was lost in a short outage.
constexpr milliseconds kSilentAfterAnswer{2500};

double s(std::chrono::nanoseconds time) { return duration<double>(time).count(); }

std::chrono::nanoseconds nanos(double s) {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(duration<double>(s));
}

double median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

std::vector<double> intervals_of(std::span<const PictureSeen> pictures) {
  std::vector<double> out;
  for (std::size_t n = 1; n < pictures.size(); ++n) {
    if (pictures[n].connection == pictures[n - 1].connection)
      out.push_back(s(pictures[n].at - pictures[n - 1].at));
  }
  return out;
}

double deviation(const std::vector<double>& values, double around) {
  std::vector<double> off;
  off.reserve(values.size());
  for (const double value : values) off.push_back(std::abs(value - around));
  return median(std::move(off));
}

void read_gap(const DropoutSeen& seen, Evidence& out) {
  out.over = seen.back.has_value();
  out.gap_s = s(seen.back.value_or(seen.looked) - seen.began);
  out.disk_full = seen.disk_full;
  const std::vector<double> intervals = intervals_of(seen.before);
  out.usual_interval_s = median(intervals);
  out.gap_bound_s = std::max(
      kGapTimes * out.usual_interval_s,
      out.usual_interval_s + kGapDeviations * kMadToSigma * deviation(intervals, out.usual_interval_s));
  out.length = out.gap_s < 4    ? Length::under_4_s
               : out.gap_s < 15 ? Length::under_15_s
               : out.gap_s < 90 ? Length::under_90_s
                                : Length::longer;
  out.streamed_for_s = s(seen.began - seen.streaming_since);
  out.age = out.streamed_for_s < kFreshFor_s ? Age::fresh : Age::settled;
}

// What became of the connection that gave the pictures.
void read_old_connection(const DropoutSeen& seen, Evidence& out) {
  if (seen.attempts.empty()) {
    if (seen.back) out.old_connection = OldConnection::went_on;
    return;
  }
  const AttemptSeen& first = seen.attempts.front();
  out.ended_after_s = s(first.at - seen.began);
  switch (first.how) {
    case AttemptEnd::reset:
      out.old_connection = OldConnection::reset;
      break;
    case AttemptEnd::closed:
      out.old_connection = OldConnection::closed;
      break;
    case AttemptEnd::cut:
      out.old_connection = OldConnection::cut;
      break;
    case AttemptEnd::silence:
      out.old_connection = OldConnection::given_up;
      break;
    default:
      break;
  }
}

Retries kind_of(AttemptEnd how) {
  switch (how) {
    case AttemptEnd::unheard:
      return Retries::unheard;
    case AttemptEnd::closed_unheard:
      return Retries::closed_unheard;
    case AttemptEnd::refused:
      return Retries::refused;
    case AttemptEnd::no_answer:
      return Retries::no_answer;
    case AttemptEnd::no_name:
      return Retries::no_name;
    case AttemptEnd::error_status:
    case AttemptEnd::no_pictures:
      return Retries::wrong_answer;
    default:
      return Retries::unknown;
  }
}

// What new attempts met, the most frequent of it; of what is as frequent, what says more.
void read_retries(const DropoutSeen& seen, Evidence& out) {
  out.attempts_all = static_cast<int>(seen.attempts.size());
  std::array<int, 8> counts{};
  for (std::size_t n = 1; n < seen.attempts.size(); ++n) {
    const AttemptSeen& attempt = seen.attempts[n];
    const Retries kind = kind_of(attempt.how);
    // While a board starts, nobody is there, and then nothing listens, whatever made it start.
    const bool starts = out.booted_after_s && s(attempt.at - seen.began) > *out.booted_after_s;
    if (starts && (kind == Retries::no_answer || kind == Retries::refused)) continue;
    ++counts.at(static_cast<std::size_t>(kind_of(attempt.how)));
    if (attempt.how == AttemptEnd::error_status) out.status = attempt.status;
  }
  // A page or a status also as the first end: a polled board.
  if (!seen.attempts.empty() && kind_of(seen.attempts.front().how) != Retries::unknown) {
    ++counts.at(static_cast<std::size_t>(kind_of(seen.attempts.front().how)));
    if (seen.attempts.front().how == AttemptEnd::error_status) out.status = seen.attempts.front().status;
  }
  for (const Retries kind : {Retries::no_name, Retries::closed_unheard, Retries::wrong_answer,
                             Retries::unheard, Retries::refused, Retries::no_answer}) {
    const int count = counts.at(static_cast<std::size_t>(kind));
    if (count > out.attempts_failed) {
      out.attempts_failed = count;
      out.retries = kind;
    }
  }
  if (out.retries == Retries::unknown && out.over) out.retries = Retries::none_needed;
}

void read_restart(const DropoutSeen& seen, Evidence& out) {
  if (seen.before.empty() || seen.after.empty() || !out.over) return;
  const PictureSeen& last = seen.before.back();
  const PictureSeen& first = seen.after.front();
  if (!last.stamp || !first.stamp) return;
  out.uptime_before_s = s(*last.stamp);
  out.uptime_after_s = s(*first.stamp);
  // A clock that went on has counted the gap too.
  const double missing_s = *out.uptime_before_s + s(first.at - last.at) - *out.uptime_after_s;
  const double slack_s = std::max(kClockSlack_s, kClockSlackShare * out.gap_s);
  // A picture that lay in wait is older than its arrival; more than that it cannot be late.
  const double waited_s = out.old_connection == OldConnection::went_on ? s(first.at - last.at) : 0;
  out.restart = missing_s > slack_s + waited_s ? Restart::stamp_back
                : missing_s < -slack_s         ? Restart::unknown
                                               : Restart::stamp_on;
  if (*first.stamp < *last.stamp) out.restart = Restart::stamp_back;
  if (out.restart != Restart::stamp_back) return;
  out.booted_after_s = std::max(0.0, s(first.at - last.at) - *out.uptime_after_s);
  out.booted = *out.booted_after_s < kAtOnce_s ? Booted::at_once : Booted::later;
}

// One question of the gap, and whether anything came back.
struct Said {
  MonoTime at;
  bool answered;
};

// said: in order of time.
Reach reach_of(std::span<const Said> said, MonoTime until) {
  if (said.empty()) return Reach::unknown;
  const auto yes = [](const Said& one) { return one.answered; };
  const auto first_no = std::ranges::find_if_not(said, yes);
  if (first_no == said.end())
    return until - said.front().at > kSilentAfterAnswer ? Reach::answered_silent : Reach::answered;
  const auto first_yes = std::ranges::find_if(said, yes);
  if (first_yes == said.end()) return Reach::never;
  if (std::ranges::all_of(first_yes, said.end(), yes)) return Reach::came_back;
  // Answered for a while; then, at least twice, no more.
  const bool at_first = first_no != said.begin() && (first_no - 1)->at - said.front().at > kHeardApart;
  if (at_first && std::ranges::is_partitioned(first_no, said.end(), std::not_fn(yes)))
    return Reach::went_away;
  return Reach::patchy;
}

// Whether anything of the board answered while no picture came.
void read_reach(const DropoutSeen& seen, Evidence& out) {
  const MonoTime back = seen.back.value_or(seen.looked);
  MonoTime until = back;
  // What answers after the board started anew, or does not while it starts, is the same whatever made it
  // start.
  if (out.booted_after_s) until = std::min(until, seen.began + nanos(*out.booted_after_s));
  const MonoTime ended = seen.attempts.empty() ? back : seen.attempts.front().at;
  bool kept_alive = false;
  std::vector<Said> all;
  for (const ProbeSeen& probe : seen.probes) {
    if (probe.answer == ProbeAnswer::not_allowed || probe.at > back) continue;
    const bool answered = probe.answer != ProbeAnswer::nothing;
    (probe.kind == ProbeKind::echo ? out.echoes : out.connects) += 1;
    (probe.kind == ProbeKind::echo ? out.echoes_answered : out.connects_answered) += answered ? 1 : 0;
    if (probe.at <= until) all.push_back({probe.at, answered});
  }
  MonoTime heard_last = seen.began;
  for (const LinkSample& sample : seen.link) {
    // Its network stack acknowledged something that we sent well after its last picture.
    const MonoTime heard = sample.at - sample.since_last_ack;
    if (sample.at > back || heard < heard_last + kHeardApart) continue;
    heard_last = heard;
    out.old_socket_answered = true;
    if (sample.at <= ended) kept_alive = s(heard - seen.began) > out.ended_after_s / 2;
    if (heard <= until) all.push_back({heard, true});
  }
  if (kept_alive && out.old_connection == OldConnection::given_up)
    out.old_connection = OldConnection::kept_alive;
  std::ranges::sort(all, {}, &Said::at);
  out.reach = reach_of(all, until);
  const bool answered = out.reach == Reach::answered || out.reach == Reach::answered_silent ||
                        out.reach == Reach::went_away || out.reach == Reach::patchy;
  if (answered && out.booted != Booted::unknown) out.booted = Booted::answered;
}

void read_others(const DropoutSeen& seen, Evidence& out) {
  const OthersSeen& others = seen.others;
  out.others_live = others.near_live;
  out.others_gaps = others.near_gaps;
  out.far_live = others.far_live;
  out.far_gaps = others.far_gaps;
  const bool most_near = others.near_gaps >= 2 && others.near_gaps * 2 > others.near_live;
  const bool most_far = others.far_gaps >= 1 && others.far_gaps * 2 > others.far_live;
  if (others.near_live + others.far_live == 0) return;
  if (most_far && (most_near || others.near_live < 2)) {
    out.others = Others::everywhere;
  } else if (others.near_live > 0) {
    out.others = most_near ? Others::most : others.near_gaps > 0 ? Others::some : Others::alone;
  }
}

void read_link(const DropoutSeen& seen, Evidence& out) {
  const LinkSample* first = nullptr;
  const LinkSample* last = nullptr;
  std::vector<double> usual;
  std::vector<double> late;
  for (const LinkSample& sample : seen.link) {
    if (sample.at > seen.began) break;
    const bool near = sample.at > seen.began - kBefore;
    if (s(sample.round_trip) > 0) (near ? late : usual).push_back(s(sample.round_trip));
    if (!near) continue;
    if (first == nullptr || first->connection != sample.connection) first = &sample;
    last = &sample;
  }
  if (first == nullptr || last == first) return;
  const std::uint32_t segments = last->segments - first->segments;
  if (segments >= kLeastSegments)
    out.out_of_order_share = static_cast<double>(last->out_of_order - first->out_of_order) / segments;
  out.round_trip_s = median(late);
  out.round_trip_usual_s = median(usual);
  // The pictures of the last seconds against those before them.
  std::vector<double> intervals = intervals_of(seen.before);
  bool uneven = false;
  if (intervals.size() >= 24) {
    const std::vector<double> early(intervals.begin(), intervals.begin() + 12);
    const std::vector<double> recent(intervals.end() - 12, intervals.end());
    const double m = median(early);
    uneven = *std::ranges::max_element(recent) > std::max(kTroubledTimes * m, m + 0.25);
  }
  const bool slow = out.round_trip_usual_s > 0 &&
                    out.round_trip_s > kTroubledTimes * out.round_trip_usual_s && out.round_trip_s > 0.05;
  if (segments < kLeastSegments && !slow && !uneven) return;
  out.link_before = out.out_of_order_share > kBadShare                          ? LinkBefore::bad
                    : out.out_of_order_share > kTroubledShare || slow || uneven ? LinkBefore::troubled
                                                                                : LinkBefore::calm;
}

void read_own(const DropoutSeen& seen, Evidence& out) {
  const MonoTime until = seen.back.value_or(seen.looked) + seconds(1);
  for (const LateSeen& late : seen.late) {
    if (late.at >= seen.began && late.at <= until) out.late_s = std::max(out.late_s, s(late.by));
  }
  out.own_reader = out.late_s > 0.3 * std::min(out.gap_s, 5.0) && out.late_s > kLateLeast_s
                       ? OwnReader::late
                       : OwnReader::on_time;
  if (!out.over || out.old_connection != OldConnection::went_on) return;
  for (const PictureSeen& picture : seen.after) {
    if (picture.at <= *seen.back + milliseconds(200)) ++out.burst_pictures;
  }
  const double expected = out.usual_interval_s > 0 ? 0.2 / out.usual_interval_s + 1 : 1;
  const bool at_once = out.burst_pictures >= 3 && out.burst_pictures > 2 * expected;
  // Who was on time let nothing lie: they waited on their way, in a sender with a large buffer.
  if (!at_once || out.late_s > kLateLeast_s) out.burst = at_once ? Burst::burst : Burst::none;
}

void read_pictures(const DropoutSeen& seen, Evidence& out) {
  out.broken_pictures = static_cast<int>(seen.broken.size());
  out.broken = out.broken_pictures == 0  ? Broken::none
               : out.broken_pictures < 3 ? Broken::some
                                         : Broken::many;
  if (out.over && seen.after.size() >= 12) {
    const std::size_t settled = seen.after.size() - 1;
    double first_bytes = 0;
    double settled_bytes = 0;
    for (std::size_t n = 0; n < 2; ++n) first_bytes += seen.after[n].bytes / 2.0;
    for (std::size_t n = settled - 3; n < settled; ++n) settled_bytes += seen.after[n].bytes / 3.0;
    bool ramp = first_bytes < kRampBytes * settled_bytes || first_bytes > kRampBytesMore * settled_bytes;
    if (seen.after[0].luma && seen.after[settled].luma) {
      out.luma_first = *seen.after[0].luma;
      out.luma_settled = *seen.after[settled].luma;
      ramp = std::abs(out.luma_first - out.luma_settled) > kRampLuma;
    }
    out.exposure = ramp ? Exposure::ramp : Exposure::settled;
  }
  const auto& minutes = seen.bytes_by_minute;
  if (minutes.size() >= 12) {
    const std::vector<double> early(minutes.begin(), minutes.end() - 8);
    const std::vector<double> late(minutes.end() - 4, minutes.end());
    const double usual = median(early);
    out.bytes_rise = usual > 0 ? median(late) / usual : 0;
    out.warmth = out.bytes_rise > kRisen ? Warmth::rising : Warmth::flat;
  }
}

// 0 to 255; nothing for what cannot be decoded. A damaged grid still says how bright it is.
std::optional<float> mean_luma(const Frame& frame) {
  jpeg::LumaGrid grid;
  if (!jpeg::compute_luma_grid(frame.view(), grid) || grid.cells.empty()) return std::nullopt;
  const double sum = std::accumulate(grid.cells.begin(), grid.cells.end(), 0.0);
  return static_cast<float>(sum / static_cast<double>(grid.cells.size()));
}

}  // namespace

void read_brightness(DropoutSeen& seen) {
  const FramePtr first = std::exchange(seen.first_after, nullptr);
  const FramePtr last = std::exchange(seen.last_after, nullptr);
  if (seen.after.empty()) return;
  if (first) seen.after.front().luma = mean_luma(*first);
  if (last) seen.after.back().luma = mean_luma(*last);
}

Evidence read_evidence(const DropoutSeen& seen) {
  Evidence out;
  read_gap(seen, out);
  read_old_connection(seen, out);
  read_restart(seen, out);
  read_retries(seen, out);
  read_reach(seen, out);
  read_others(seen, out);
  read_link(seen, out);
  read_own(seen, out);
  read_pictures(seen, out);
  if (seen.back) out.place = seen.address_changed ? Place::moved : Place::same;
  if (seen.announced) out.announced = Announced::again;
  return out;
}

std::string_view name_of(AttemptEnd end) {
  switch (end) {
    case AttemptEnd::silence:
      return "silence";
    case AttemptEnd::reset:
      return "reset";
    case AttemptEnd::closed:
      return "closed";
    case AttemptEnd::cut:
      return "cut";
    case AttemptEnd::unheard:
      return "unheard";
    case AttemptEnd::closed_unheard:
      return "closed-unheard";
    case AttemptEnd::refused:
      return "refused";
    case AttemptEnd::no_answer:
      return "no-answer";
    case AttemptEnd::no_name:
      return "no-name";
    case AttemptEnd::error_status:
      return "error-status";
    case AttemptEnd::no_pictures:
      return "no-pictures";
    case AttemptEnd::other:
      return "other";
  }
  return "other";
}

}  // namespace rookery::camera
