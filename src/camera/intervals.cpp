#include "camera/intervals.h"

#include <algorithm>
#include <cmath>

namespace rookery::camera {
namespace {

constexpr double kGapTimes = 3;
constexpr double kGapDeviations = 6;
constexpr double kMadToSigma = 1.4826;  // of a normal distribution
constexpr double kJitterGain = 1.0 / 16;

// A stamp that steps back is another clock: the board has restarted.
bool all_stamped(std::span<const ArrivedAt> arrivals) {
  for (std::size_t i = 0; i < arrivals.size(); ++i) {
    if (!arrivals[i].stamp) return false;
    if (i > 0 && !arrivals[i].begins && *arrivals[i].stamp <= *arrivals[i - 1].stamp) return false;
  }
  return true;
}

}  // namespace

double percentile(std::vector<double> values, double share) {
  const auto rank = static_cast<std::ptrdiff_t>(std::ceil(share * static_cast<double>(values.size())));
  const auto at = values.begin() +
                  std::clamp<std::ptrdiff_t>(rank - 1, 0, static_cast<std::ptrdiff_t>(values.size()) - 1);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

Intervals compute_intervals(std::span<const ArrivedAt> arrivals) {
  Intervals out;
  std::vector<double> all_ms;
  double sum_ms = 0;
  for (std::size_t i = 1; i < arrivals.size(); ++i) {
    if (arrivals[i].begins) continue;
    all_ms.push_back(Millis(arrivals[i].at - arrivals[i - 1].at).count());
    sum_ms += all_ms.back();
  }
  if (all_ms.empty()) return out;
  out.count = all_ms.size();
  out.frames_per_s = sum_ms > 0 ? 1e3 * static_cast<double>(out.count) / sum_ms : 0;
  const double median_ms = percentile(all_ms, 0.5);
  out.p50 = Millis(median_ms);
  out.p95 = Millis(percentile(all_ms, 0.95));
  out.p99 = Millis(percentile(all_ms, 0.99));
  out.longest = Millis(*std::max_element(all_ms.begin(), all_ms.end()));

  std::vector<double> off_ms;
  for (const double interval : all_ms) off_ms.push_back(std::abs(interval - median_ms));
  const double mad_ms = percentile(off_ms, 0.5);
  out.gap_bound = Millis(std::max(kGapTimes * median_ms, median_ms + kGapDeviations * kMadToSigma * mad_ms));
  out.gaps = static_cast<std::size_t>(
      std::count_if(all_ms.begin(), all_ms.end(), [&](double ms) { return ms > out.gap_bound.count(); }));

  out.jitter_by_stamps = all_stamped(arrivals);
  double jitter = 0;
  double jitter_sum = 0;
  for (std::size_t i = 1; i < arrivals.size(); ++i) {
    if (arrivals[i].begins) continue;
    const double sent_ms =
        out.jitter_by_stamps ? Millis(*arrivals[i].stamp - *arrivals[i - 1].stamp).count() : median_ms;
    const double off = std::abs(Millis(arrivals[i].at - arrivals[i - 1].at).count() - sent_ms);
    jitter += (off - jitter) * kJitterGain;
    jitter_sum += jitter;
    out.jitter_most = std::max(out.jitter_most, Millis(jitter));
  }
  out.jitter = Millis(jitter_sum / static_cast<double>(out.count));
  return out;
}

}  // namespace rookery::camera
