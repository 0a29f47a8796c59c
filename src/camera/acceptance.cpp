#include "camera/acceptance.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "camera/acceptance_inner.h"
#include "vision/picture_share.h"

namespace rookery::camera {

using namespace acceptance_inner;

namespace {

// Fewer intervals say nothing (common practice, no source); of 99 % one needs a hundred.
constexpr std::size_t kFewestIntervals = 20;

std::string too_few(const Measurements& m) {
  if (m.whole == 0) return "no picture came";
  return fmt::format("{} intervals between pictures are too few, {} are needed", m.intervals.count,
                     kFewestIntervals);
}

Finding frame_rate(const Measurements& m) {
  if (m.polled) {
    return not_measured(
        Heading::frame_rate,
        fmt::format("stills are asked for, one every {} ms, and so many come", m.poll_every.count()));
  }
  if (m.intervals.count < kFewestIntervals) return not_measured(Heading::frame_rate, too_few(m));
  return judged(Heading::frame_rate, m.intervals.frames_per_s,
                fmt::format("{:.2f} frames/s over {}", m.intervals.frames_per_s,
                            count_of(m.intervals.count + 1, "picture")));
}

Finding intervals(const Measurements& m) {
  if (m.intervals.count < kFewestIntervals) return not_measured(Heading::intervals, too_few(m));
  const Intervals& i = m.intervals;
  return judged(
      Heading::intervals, i.longest.count(),
      fmt::format("p50 {:.0f} ms, p95 {:.0f} ms, p99 {:.0f} ms, longest {:.0f} ms; {} longer than {:.0f} ms "
                  "(3 medians, or 6 deviations above one)",
                  i.p50.count(), i.p95.count(), i.p99.count(), i.longest.count(), count_of(i.gaps, "gap"),
                  i.gap_bound.count()));
}

Finding jitter(const Measurements& m) {
  if (m.intervals.count < kFewestIntervals) return not_measured(Heading::jitter, too_few(m));
  const Intervals& i = m.intervals;
  return judged(
      Heading::jitter, kPercent * i.jitter.count() / std::max(i.p50.count(), 0.1),
      fmt::format(
          "{:.1f} ms on average, {:.1f} ms at most, at a usual interval of {:.0f} ms; against {}",
          i.jitter.count(), i.jitter_most.count(), i.p50.count(),
          i.jitter_by_stamps ? "the board's own stamps" : "that interval (the board sends no stamps)"));
}

Finding frame_bytes(const Measurements& m) {
  if (m.whole == 0) return not_measured(Heading::frame_bytes, "no picture came");
  const double buffer = m.size.width_px * m.size.height_px / 5.0;
  return judged(
      Heading::frame_bytes, kPercent * m.bytes.most / std::max(buffer, 1.0),
      fmt::format(
          "{}×{}, p50 {:.1f} kB, p95 {:.1f} kB, most {:.1f} kB of {:.1f} kB{}", m.size.width_px,
          m.size.height_px, m.bytes.p50 / 1e3, m.bytes.p95 / 1e3, m.bytes.most / 1e3, buffer / 1e3,
          m.jpeg_quality ? fmt::format("; JPEG quality about {} of 100", *m.jpeg_quality) : std::string()));
}

Finding sag(const Measurements& m) {
  const std::string received = m.tcp.bit_per_s > 0
                                   ? fmt::format("{:.2f} Mbit/s received on average", m.tcp.bit_per_s / 1e6)
                                   : "throughput not known";
  if (m.polled) return not_measured(Heading::sag, "stills are asked for at a rate of our own; " + received);
  if (!m.sag) return not_measured(Heading::sag, fmt::format("{}; {}", m.why_no_sag, received));
  return judged(Heading::sag, kPercent * m.sag->share,
                fmt::format("{}; pictures of {:.1f} kB come {:.2f} times as often as those of {:.1f} kB",
                            received, m.sag->large_bytes / 1e3, m.sag->share, m.sag->small_bytes / 1e3));
}

Finding round_trip(const Measurements& m) {
  if (m.tcp.samples == 0 || m.tcp.round_trip.count() <= 0)
    return not_measured(Heading::round_trip, "the computer's kernel told nothing of the connection");
  return judged(
      Heading::round_trip, m.tcp.round_trip.count(),
      fmt::format("{:.1f} ms (median of {}){}", m.tcp.round_trip.count(), count_of(m.tcp.samples, "sample"),
                  m.tcp.receive_round_trip.count() > 0
                      ? fmt::format("; from what comes in {:.1f} ms", m.tcp.receive_round_trip.count())
                      : std::string()));
}

Finding loss(const Measurements& m) {
  constexpr std::uint64_t kFewestSegments = 100;
  if (m.tcp.segments_in < kFewestSegments) {
    return not_measured(Heading::loss, fmt::format("{} segments are too few, {} are needed",
                                                   m.tcp.segments_in, kFewestSegments));
  }
  const double share =
      kPercent * static_cast<double>(m.tcp.out_of_order_in) / static_cast<double>(m.tcp.segments_in);
  return judged(Heading::loss, share,
                fmt::format("{} of {} segments out of order ({:.2f} %); {} sent again by this computer",
                            m.tcp.out_of_order_in, m.tcp.segments_in, share, m.tcp.retransmitted));
}

Finding broken(const Measurements& m) {
  if (m.received == 0) return not_measured(Heading::broken, "no picture came");
  std::string kinds;
  std::uint64_t count = m.damaged_scans;
  for (const BrokenCount& kind : m.broken) {
    count += kind.count;
    kinds += fmt::format("; {} × {}", kind.count, kind.kind);
  }
  if (m.damaged_scans > 0)
    kinds += fmt::format("; {} × damaged-scan (whole, but its data contradicts itself)", m.damaged_scans);
  const double share = kPercent * static_cast<double>(count) / static_cast<double>(m.received);
  return judged(Heading::broken, share,
                fmt::format("{} of {} ({:.2f} %){}", count, count_of(m.received, "picture"), share, kinds));
}

Finding dropouts(const Measurements& m) {
  if (m.whole == 0) return not_measured(Heading::dropouts, "no picture came");
  std::string evidence =
      m.dropouts == 0
          ? fmt::format("none in {:.0f} s", m.lasted_s)
          : fmt::format("{} in {:.0f} s, the longest time without a picture {:.1f} s; the last: {}",
                        m.dropouts, m.lasted_s, m.longest_without_s, m.last_error);
  return judged(Heading::dropouts, static_cast<double>(m.dropouts), std::move(evidence));
}

Finding restarts(const Measurements& m) {
  if (!m.stamped) {
    return not_measured(Heading::restarts,
                        "the board sends no stamps of its own clock; a restart shows as a dropout only");
  }
  return judged(Heading::restarts, m.restarts,
                m.restarts == 0 ? std::string("its clock ran on all the time")
                                : fmt::format("its clock stepped back {}",
                                              count_of(static_cast<std::uint64_t>(m.restarts), "time")));
}

Finding settling(const Measurements& m) {
  if (!m.settling) return not_measured(Heading::settling, "too few pictures came after a start");
  const std::string_view since = m.settling->after_restart
                                     ? "after the board's start"
                                     : "after the stream began (the "
                                       "board ran already: cycle its power during the test to see a start)";
  if (!m.settling->time) {
    constexpr double kLongEnough_s = 14;
    if (m.settling->watched.count() < kLongEnough_s)
      return not_measured(Heading::settling,
                          fmt::format("not settled within the {:.1f} s that were watched {}",
                                      m.settling->watched.count(), since));
    return unfit(Heading::settling,
                 fmt::format("not settled within {:.1f} s {}", m.settling->watched.count(), since));
  }
  return judged(Heading::settling, m.settling->time->count(),
                fmt::format("{:.1f} s {}", m.settling->time->count(), since));
}

std::string comparable(const Measurements& m) {
  return fmt::format("variance of the Laplacian {:.0f} (of {}; compare it with this scene only)", m.laplacian,
                     count_of(m.looks, "picture"));
}

Finding sharpness(const Measurements& m) {
  if (m.looks == 0) return not_measured(Heading::sharpness, "no picture was decoded");
  if (!m.edge) {
    return not_measured(Heading::sharpness,
                        "no straight edge, slanted by 2° to 25° and with even sides, is in view: hold "
                        "a sheet half white half dark into it, a little askew; " +
                            comparable(m));
  }
  const vision::SlantedEdge& edge = *m.edge;
  const vision::PictureShare share{static_cast<double>(edge.box.x_px) / std::max(m.size.width_px, 1),
                                   static_cast<double>(edge.box.y_px) / std::max(m.size.height_px, 1),
                                   static_cast<double>(edge.box.width_px) / std::max(m.size.width_px, 1),
                                   static_cast<double>(edge.box.height_px) / std::max(m.size.height_px, 1)};
  return judged(Heading::sharpness, edge.mtf50_cycles_per_px,
                fmt::format("{:.3f} cycles/px at an edge in the {} ({:.0f}° slanted, {:.0f} grey levels); {}",
                            edge.mtf50_cycles_per_px, vision::words_for(share), edge.slant_degrees,
                            edge.contrast, comparable(m)));
}

Finding noise(const Measurements& m) {
  if (!m.noise) {
    return not_measured(Heading::noise, m.looks == 0 ? "no picture was decoded"
                                                     : "nearly all of the picture is black or white");
  }
  return judged(Heading::noise, *m.noise,
                fmt::format("{:.1f} grey levels on flat parts, as sent (JPEG hides some)", *m.noise));
}

Finding clipping(const Measurements& m) {
  if (m.looks == 0) return not_measured(Heading::clipping, "no picture was decoded");
  return judged(Heading::clipping, kPercent * std::max(m.dark, m.bright),
                fmt::format("{:.0f} % black, {:.0f} % white", kPercent * m.dark, kPercent * m.bright));
}

Finding banding(const Measurements& m) {
  constexpr std::size_t kFewestLooks = 4;
  if (m.banding_looks < kFewestLooks) {
    return not_measured(Heading::banding, fmt::format("{} decoded are too few, {} are needed",
                                                      count_of(m.banding_looks, "picture"), kFewestLooks));
  }
  if (!m.banding) {
    return judged(Heading::banding, 0,
                  fmt::format("none in {} (bands that stand still are not seen)",
                              count_of(m.banding_looks, "picture")));
  }
  return judged(
      Heading::banding, kPercent * m.banding->depth,
      fmt::format(
          "{:.1f} bands across the picture, {:.1f} % of its brightness deep, {:.0f} times the median of "
          "the spectrum; {}: {}",
          m.banding->bands, kPercent * m.banding->depth, m.banding->over_median,
          m.mains.mains_hz ? fmt::format("lamps on {} Hz mains", *m.mains.mains_hz)
                           : std::string("which mains is not known"),
          m.mains.why));
}

Finding pixels(const Measurements& m) {
  if (!m.pixels_told)
    return not_measured(Heading::pixels,
                        fmt::format("{} decoded are too few, 5 are needed", count_of(m.looks, "picture")));
  return judged(Heading::pixels, static_cast<double>(m.hot_pixels + m.dead_pixels),
                fmt::format("{} always bright, {} always dark, in all of {}", m.hot_pixels, m.dead_pixels,
                            count_of(m.looks, "picture")));
}

Finding frozen(const Measurements& m) {
  if (m.whole < 3) return not_measured(Heading::frozen, "fewer than 3 pictures came");
  return judged(
      Heading::frozen, m.frozen_times,
      m.frozen_times == 0
          ? std::string("every picture differed from the one before within 2 s")
          : fmt::format("{}, the longest for {:.1f} s",
                        count_of(static_cast<std::uint64_t>(m.frozen_times), "time"), m.frozen_longest_s));
}

Finding upright(const Measurements& m) {
  if (m.looks == 0) return not_measured(Heading::upright, "no picture was decoded");
  // A picture that the profile says is turned is no surprise.
  const bool expected = m.rotation == 180;
  const bool may_be = m.upright.may_be_upside_down && !expected;
  return judged(Heading::upright, may_be ? 1 : 0,
                fmt::format("upper third {:.0f}, lower third {:.0f} grey levels{}", m.upright.upper,
                            m.upright.lower, may_be ? ": it may be upside down" : ""));
}

using Judge = Finding (*)(const Measurements&);
constexpr Judge kJudges[] = {frame_rate, intervals, jitter,    frame_bytes, sag,           round_trip,
                             loss,       broken,    still,     still_age,   second_viewer, dropouts,
                             restarts,   settling,  sharpness, noise,       clipping,      banding,
                             pixels,     frozen,    upright,   lamp,        sizes};
static_assert(std::size(kJudges) == kAcceptanceLimits.size());

}  // namespace

std::string_view name_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::fit:
      return "fit";
    case Verdict::marginal:
      return "marginal";
    case Verdict::unfit:
      return "unfit";
  }
  return "";
}

Acceptance judge(const Measurements& measured) {
  Acceptance out;
  for (const Judge one : kJudges) out.findings.push_back(one(measured));
  const bool seen = measured.polled ? measured.whole > 0 : out.findings.front().verdict.has_value();
  Verdict worst = Verdict::fit;
  for (const Finding& finding : out.findings) {
    if (finding.verdict) worst = std::max(worst, *finding.verdict);
  }
  // What is unfit already stays so, however little was seen.
  if (!seen && worst != Verdict::unfit) {
    out.why = "too little was seen: " + out.findings.front().evidence;
    return out;
  }
  out.overall = worst;
  for (const Finding& finding : out.findings) {
    if (worst != Verdict::fit && finding.verdict == worst)
      out.why += fmt::format("{}{}", out.why.empty() ? "" : ", ", finding.limit->id);
  }
  return out;
}

std::string words_of(const AcceptanceLimit& limit) {
  const std::string_view bound = limit.more_is_better ? "at least" : "at most";
  const std::string unit = limit.unit.empty() ? std::string() : fmt::format(" {}", limit.unit);
  if (limit.marginal == kNoUnfit)
    return fmt::format("fit: {} {:g}{}; marginal: beyond", bound, limit.fit, unit);
  if (limit.marginal == limit.fit)
    return fmt::format("fit: {} {:g}{}; unfit: beyond", bound, limit.fit, unit);
  return fmt::format("fit: {0} {1:g}{3}; marginal: {0} {2:g}{3}", bound, limit.fit, limit.marginal, unit);
}

}  // namespace rookery::camera
