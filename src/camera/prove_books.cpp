#include "camera/prove_books.h"

#include <algorithm>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

#include "jpeg/walk.h"
#include "vision/noise.h"

namespace rookery::camera {
namespace {

// Ours (common practice, no source).
constexpr int kEdgeEvery = 5;                // looks: an edge is searched for in each fifth
constexpr std::size_t kMostRows = 60;        // pictures whose rows are kept for banding
constexpr std::size_t kMostSeries = 20'000;  // points of a graph
constexpr std::chrono::seconds kSettlingWatched{20};
constexpr std::size_t kFewestForSag = 40;
constexpr double kSizesDiffer = 1.15;  // largest quarter over smallest
// Stills cannot be that much fresher than the stream (ours, no source).
constexpr Millis kClocksDiffer{2000};
// A start is a restart's when the board's clock says that it has just booted.
constexpr std::chrono::seconds kJustBooted{15};

double median(const std::vector<double>& values) { return values.empty() ? 0 : percentile(values, 0.5); }

std::uint64_t hash_of(std::span<const std::byte> bytes) {
  return std::hash<std::string_view>()({reinterpret_cast<const char*>(bytes.data()), bytes.size()});
}

}  // namespace

ProveBooks::ProveBooks(base::MonoTime began) : began_(began) {}

double ProveBooks::seconds(base::MonoTime at) const {
  return std::chrono::duration<double>(at - began_).count();
}

void ProveBooks::phase(ProvePhase phase) {
  phase_ = phase;
  phase_begins_ = ones_.size();
  breaks_ = true;
}

void ProveBooks::interrupted_by_us() { breaks_ = ours_ = true; }

std::optional<base::MonoTime> ProveBooks::last_frame() const {
  if (ones_.empty()) return std::nullopt;
  return ones_.back().arrived.at;
}

bool ProveBooks::frame(const FramePtr& frame) {
  const base::MonoTime at = frame->arrived_mono;
  const auto& stamp = frame->origin.stamp;
  const bool new_connection = connection_ && *connection_ != frame->origin.connection && !one_by_one_;
  const bool restarted =
      stamp && !ones_.empty() && ones_.back().arrived.stamp && *stamp < *ones_.back().arrived.stamp;
  if (restarted) ++restarts_;
  stamped_ = stamped_ || stamp.has_value();
  if (!ones_.empty() && !ours_)
    longest_without_s_ = std::max(longest_without_s_, seconds(at) - seconds(ones_.back().arrived.at));
  ArrivedAt arrived{at, stamp, breaks_ || restarted || new_connection};
  ones_.push_back({arrived, phase_, static_cast<double>(frame->bytes.size())});
  connection_ = frame->origin.connection;
  ++frames_;
  if (phase_ == ProvePhase::sizes) {
    breaks_ = ours_ = false;
    return false;
  }
  same_.add(hash_of(frame->view()), at);
  if (jpeg::compute_luma_grid(frame->view(), grid_)) {
    if (grid_.damaged) ++damaged_scans_;
    note_start(frame, new_connection, restarted);
  }
  breaks_ = ours_ = false;
  if (!first_still_) first_still_ = frame;
  last_still_ = frame;
  if (rows_next_) note_rows(frame);
  if (grid_.damaged || (looked_ && at - *looked_ < look_every_)) return false;
  look(frame);
  return true;
}

// Light since the stream, or the board, started.
void ProveBooks::note_start(const FramePtr& frame, bool new_connection, bool restarted) {
  const base::MonoTime at = frame->arrived_mono;
  const auto& stamp = frame->origin.stamp;
  const double mean = vision::compute_clipping(grid_).mean;
  if (level_each_.size() < kMostSeries) level_each_.push_back({seconds(at), mean});
  if (starts_.empty() || restarted || new_connection) {
    const bool just_booted = stamp && *stamp < kJustBooted;
    // Where the board says since when it runs, settling counts from there.
    const base::MonoTime since = just_booted ? at - *stamp : at;
    starts_.push_back({restarted || just_booted, since, {}});
  }
  Start& start = starts_.back();
  const std::chrono::duration<double> since = at - start.at;
  if (since <= kSettlingWatched && phase_ == ProvePhase::plain) start.levels.push_back({since, mean});
}

void ProveBooks::note_rows(const FramePtr& frame) {
  rows_next_ = false;
  if (grid_.damaged || rows_.size() >= kMostRows) return;
  if (!jpeg::compute_luma_plane(frame->view(), plane_) || plane_.damaged) return;
  vision::RowMeans rows = vision::compute_row_means(plane_);
  rows.stamp = frame->origin.stamp;
  if (!rows_.empty() && rows_.front().rows.size() != rows.rows.size()) rows_.clear();
  rows_.push_back(std::move(rows));
}

void ProveBooks::look(const FramePtr& frame) {
  looked_ = frame->arrived_mono;
  const vision::Clipping clipping = vision::compute_clipping(grid_);
  dark_.push_back(clipping.dark);
  bright_.push_back(clipping.bright);
  const vision::UprightHint upright = vision::hint_upright(grid_);
  upper_.push_back(upright.upper);
  lower_.push_back(upright.lower);
  const auto walked = jpeg::walk(frame->view());
  if (const auto* info = std::get_if<jpeg::PictureInfo>(&walked)) jpeg_quality_ = info->quality_estimate;
  if (!jpeg::compute_luma_plane(frame->view(), plane_) || plane_.damaged) return;
  ++looks_;
  laplacian_.push_back(vision::compute_laplacian_variance(plane_));
  laplacian_each_.push_back({seconds(frame->arrived_mono), laplacian_.back()});
  if (const auto noise = vision::compute_noise(plane_)) noise_.push_back(*noise);
  lone_.add(plane_);
  if (looks_ % kEdgeEvery == 1) {
    if (auto edge = vision::find_slanted_edge(plane_);
        edge && (!edge_ || edge->mtf50_cycles_per_px > edge_->mtf50_cycles_per_px)) {
      edge_ = edge;
    }
  }
  if (rows_.size() < kMostRows) {
    note_rows(frame);
    rows_next_ = true;
  }
}

void ProveBooks::tcp(const std::optional<net::TcpVitals>& vitals, base::MonoTime now) {
  if (!vitals) {
    tcp_before_.reset();
    return;
  }
  net::TcpVitals since = *vitals;
  const bool same = tcp_before_ && vitals->bytes_in >= tcp_before_->bytes_in &&
                    vitals->segments_in >= tcp_before_->segments_in;
  if (same) {
    since.bytes_in -= tcp_before_->bytes_in;
    since.segments_in -= tcp_before_->segments_in;
    since.out_of_order_in -= std::min(since.out_of_order_in, tcp_before_->out_of_order_in);
    since.retransmitted -= std::min(since.retransmitted, tcp_before_->retransmitted);
    tcp_bytes_ += since.bytes_in;
    tcp_open_s_ += std::chrono::duration<double>(now - tcp_at_).count();
  }
  ++tcp_.samples;
  tcp_.segments_in += since.segments_in;
  tcp_.out_of_order_in += since.out_of_order_in;
  tcp_.retransmitted += since.retransmitted;
  round_trips_ms_.push_back(Millis(vitals->round_trip).count());
  if (vitals->receive_round_trip.count() > 0)
    receive_round_trips_ms_.push_back(Millis(vitals->receive_round_trip).count());
  tcp_before_ = vitals;
  tcp_at_ = now;
}

void ProveBooks::still(const base::Result<StillSeen>& seen) {
  ++stills_.asked;
  if (!seen) {
    stills_.why_not = seen.error().text();
    return;
  }
  ++stills_.answered;
  stills_seen_.push_back(*seen);
}

Intervals ProveBooks::intervals_now() const {
  std::vector<ArrivedAt> arrivals;
  for (std::size_t i = phase_begins_; i < ones_.size(); ++i) arrivals.push_back(ones_[i].arrived);
  return compute_intervals(arrivals);
}

double ProveBooks::bytes_now() const {
  std::vector<double> bytes;
  for (std::size_t i = phase_begins_; i < ones_.size(); ++i) bytes.push_back(ones_[i].bytes);
  return median(bytes);
}

Intervals ProveBooks::intervals(ProvePhase phase) const {
  std::vector<ArrivedAt> arrivals;
  for (const One& one : ones_) {
    if (one.phase == phase) arrivals.push_back(one.arrived);
  }
  return compute_intervals(arrivals);
}

void ProveBooks::fill_stills(StillMeasures& out) const {
  out = stills_;
  std::vector<double> took_ms, ages_ms;
  for (const StillSeen& one : stills_seen_) took_ms.push_back(one.took().count());
  if (took_ms.empty()) {
    out.why_no_age = "no still came";
    return;
  }
  out.p50 = Millis(median(took_ms));
  out.longest = Millis(percentile(took_ms, 1));
  // When the board's clock began, by the stream's freshest picture: what is on its way for some milliseconds
  // is taken for fresh.
  std::optional<base::MonoTime> booted;
  for (const One& one : ones_) {
    if (one.arrived.stamp && (!booted || one.arrived.at - *one.arrived.stamp < *booted))
      booted = one.arrived.at - *one.arrived.stamp;
  }
  const bool all_stamped =
      std::ranges::all_of(stills_seen_, [](const auto& one) { return one.stamp.has_value(); });
  if (!all_stamped || !booted || one_by_one_ || restarts_ > 0) {
    out.why_no_age = !all_stamped  ? "its stills carry no stamp"
                     : one_by_one_ ? "there is no stream whose stamps they could be compared with"
                     : !booted     ? "its stream carries no stamps that they could be compared with"
                                   : "the board restarted meanwhile, and its clock with it";
    return;
  }
  for (const StillSeen& one : stills_seen_)
    ages_ms.push_back(Millis(one.arrived - (*booted + *one.stamp)).count());
  const double oldest = percentile(ages_ms, 1);
  if (percentile(ages_ms, 0) < -kClocksDiffer.count()) {
    out.why_no_age =
        "the stamps of its stills and of its stream are of different clocks, or it restarted between them";
    return;
  }
  out.oldest = Millis(std::max(0.0, oldest));
  out.age_evidence = fmt::format(
      "{:.0f} ms for the oldest of {}, {:.0f} ms in the median: their stamps against those of "
      "the stream",
      out.oldest->count(), ages_ms.size(), std::max(0.0, median(ages_ms)));
}

void ProveBooks::fill_tcp(Measurements& out) const {
  out.tcp = tcp_;
  out.tcp.round_trip = Millis(median(round_trips_ms_));
  out.tcp.receive_round_trip = Millis(median(receive_round_trips_ms_));
  if (tcp_open_s_ > 0) out.tcp.bit_per_s = 8.0 * static_cast<double>(tcp_bytes_) / tcp_open_s_;
  // Bytes of each picture, and of those whose interval is known how the rate falls with them.
  std::vector<double> bytes;
  std::vector<std::pair<double, double>> by_size;  // bytes, interval in ms
  for (std::size_t i = 0; i < ones_.size(); ++i) {
    if (ones_[i].phase == ProvePhase::second_viewer || ones_[i].phase == ProvePhase::sizes) continue;
    bytes.push_back(ones_[i].bytes);
    if (out.bytes_each.size() < kMostSeries)
      out.bytes_each.push_back({seconds(ones_[i].arrived.at), ones_[i].bytes});
    if (i == 0 || ones_[i].arrived.begins) continue;
    const double ms = Millis(ones_[i].arrived.at - ones_[i - 1].arrived.at).count();
    if (out.intervals_ms.size() < kMostSeries) out.intervals_ms.push_back({seconds(ones_[i].arrived.at), ms});
    if (ones_[i].phase == ProvePhase::plain) by_size.emplace_back(ones_[i].bytes, ms);
  }
  if (!bytes.empty()) out.bytes = {percentile(bytes, 0.5), percentile(bytes, 0.95), percentile(bytes, 1)};
  if (by_size.size() < kFewestForSag) {
    out.why_no_sag = fmt::format("{} intervals are too few to compare sizes, {} are needed", by_size.size(),
                                 kFewestForSag);
    return;
  }
  std::sort(by_size.begin(), by_size.end());
  const std::size_t quarter = by_size.size() / 4;
  const auto medians = [&](std::size_t from) {
    std::vector<double> sizes;
    std::vector<double> ms;
    for (std::size_t i = from; i < from + quarter; ++i) {
      sizes.push_back(by_size[i].first);
      ms.push_back(by_size[i].second);
    }
    return std::pair(median(sizes), median(ms));
  };
  const auto [small, small_ms] = medians(0);
  const auto [large, large_ms] = medians(by_size.size() - quarter);
  if (large < kSizesDiffer * small || large_ms <= 0) {
    out.why_no_sag = fmt::format(
        "pictures are of nearly one size ({:.1f} to {:.1f} kB): move something in the scene, or "
        "change the light, to see what larger ones do",
        small / 1e3, large / 1e3);
    return;
  }
  out.sag = Sag{small, large, small_ms / large_ms};
}

void ProveBooks::fill_pictures(Measurements& out) const {
  out.looks = looks_;
  out.laplacian = median(laplacian_);
  out.edge = edge_;
  if (!noise_.empty()) out.noise = median(noise_);
  out.dark = median(dark_);
  out.bright = median(bright_);
  out.pixels_told = lone_.pictures() >= vision::LonePixels::kFewest;
  out.hot_pixels = lone_.hot();
  out.dead_pixels = lone_.dead();
  out.frozen_times = same_.times();
  out.frozen_longest_s = same_.longest().count();
  out.upright = vision::judge_upright(median(upper_), median(lower_));
  out.laplacian_each = laplacian_each_;
  out.level_each = level_each_;
  out.first_still = first_still_;
  out.last_still = last_still_;
  // The worst of the restarts; else how the stream's own start was.
  for (const Start& start : starts_) {
    if (start.levels.empty()) continue;
    Settling settling;
    settling.after_restart = start.restart;
    settling.time = vision::settled_after(start.levels);
    settling.watched = start.levels.back().since;
    const bool goes_before = !out.settling || (settling.after_restart && !out.settling->after_restart) ||
                             (settling.after_restart == out.settling->after_restart && out.settling->time &&
                              (!settling.time || *settling.time > *out.settling->time));
    if (goes_before && start.levels.size() >= 10) out.settling = settling;
  }
}

void ProveBooks::fill_banding(
    Measurements& out,
    const std::function<std::optional<std::chrono::duration<double>>(int)>& readout) const {
  out.banding_looks = rows_.size();
  out.banding = vision::find_banding(rows_);
  if (!out.banding) return;
  const auto known = readout(static_cast<int>(rows_.front().rows.size()));
  if (known) out.mains = vision::tell_mains(*out.banding, *known);
  // The board's clock needs no profile, and does not mind which rate the sensor was set to.
  if (!out.mains.mains_hz) {
    const vision::MainsAnswer by_stamps = vision::tell_mains(*out.banding, rows_);
    if (by_stamps.mains_hz || !known) out.mains = by_stamps;
  }
}

Measurements ProveBooks::close(
    const Status& status, base::MonoTime now,
    const std::function<std::optional<std::chrono::duration<double>>(int)>& readout) const {
  Measurements out;
  out.lasted_s = seconds(now);
  out.size = status.size;
  out.jpeg_quality = jpeg_quality_;
  out.received = status.counters.received;
  out.whole = status.counters.published;
  for (std::size_t i = 0; i < status.counters.rejected.size(); ++i) {
    const auto kind = static_cast<jpeg::BrokenKind>(i);
    if (status.counters.rejected[i] > 0) {
      out.broken.push_back(
          {std::string(jpeg::name_of(kind)), std::string(jpeg::explain(kind)), status.counters.rejected[i]});
    }
  }
  if (status.counters.rejected_parts > 0) {
    out.broken.push_back({"part-given-up", "a picture was too large or was cut off with its connection",
                          status.counters.rejected_parts});
  }
  out.damaged_scans = damaged_scans_;
  out.dropouts = status.counters.dropouts;
  if (status.last_error) out.last_error = status.last_error->text();
  out.stamped = stamped_;
  out.restarts = restarts_;
  out.longest_without_s = longest_without_s_;
  if (!ones_.empty() && !ours_)
    out.longest_without_s = std::max(out.longest_without_s, seconds(now) - seconds(ones_.back().arrived.at));
  out.intervals = intervals(ProvePhase::plain);
  fill_tcp(out);
  fill_stills(out.stills);
  fill_pictures(out);
  fill_banding(out, readout);
  return out;
}

}  // namespace rookery::camera
