#include "vision/banding.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "vision/spectrum.h"

namespace rookery::vision {
namespace {

constexpr double kOverMedian = 6;
// Ours (common practice, no source): what moves in the scene fills the low lines too, but all of them.
constexpr double kOverNeighbours = 4;
constexpr int kNeighbours = 8;  // lines to each side …
constexpr int kOwn = 2;         // … but those that Hann's window spreads a line over
constexpr int kFewestBands = 2;
constexpr double kShallowest = 0.003;
constexpr std::size_t kFewestRows = 32;
constexpr double kTolerance = 0.06;  // 100 and 120 Hz are 18 % apart
constexpr double kAgrees = 0.6;      // mean cosine of how far the bands are from where they should be
constexpr double kApart = 0.3;
constexpr std::array<int, 2> kMains_hz = {50, 60};

double median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// How the second picture differs from the first, as a share of their level, made ready for a spectrum.
std::vector<double> difference(const RowMeans& a, const RowMeans& b, double& window_sum) {
  std::vector<double> out(a.rows.size());
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = 2 * (b.rows[i] - a.rows[i]) / std::max(a.rows[i] + b.rows[i], 8.0);
  detrend(out);
  window_sum = apply_hann(out);
  return out;
}

// The rows of one picture against the mean of all: bands stay, the scene goes.
std::vector<double> against_mean(const RowMeans& picture, const std::vector<double>& mean,
                                 double& window_sum) {
  std::vector<double> out(mean.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = picture.rows[i] / std::max(mean[i], 4.0) - 1;
  detrend(out);
  window_sum = apply_hann(out);
  return out;
}

std::vector<double> mean_rows(std::span<const RowMeans> pictures) {
  std::vector<double> mean(pictures.front().rows.size(), 0.0);
  for (const RowMeans& picture : pictures) {
    for (std::size_t i = 0; i < mean.size(); ++i)
      mean[i] += picture.rows[i] / static_cast<double>(pictures.size());
  }
  return mean;
}

double power_at(const std::vector<std::vector<double>>& signals, double bands, std::size_t rows) {
  double power = 0;
  for (const auto& signal : signals)
    power += std::norm(compute_line(signal, bands / static_cast<double>(rows)));
  return power / static_cast<double>(signals.size());
}

// Each line times its place: what drifts and what moves has a spectrum that falls like 1/k, and so is level.
double median_around(const std::vector<double>& lines, int line) {
  std::vector<double> around;
  for (int k = std::max(1, line - kNeighbours); k <= line + kNeighbours; ++k) {
    if (std::abs(k - line) > kOwn && static_cast<std::size_t>(k) < lines.size())
      around.push_back(k * lines[static_cast<std::size_t>(k)]);
  }
  return median(std::move(around));
}

}  // namespace

RowMeans compute_row_means(const jpeg::LumaPlane& plane) {
  RowMeans out;
  out.rows.reserve(static_cast<std::size_t>(plane.height_px));
  for (int y = 0; y < plane.height_px; ++y) {
    std::uint64_t sum = 0;
    for (const std::uint8_t value : plane.row(y)) sum += value;
    out.rows.push_back(static_cast<double>(sum) / plane.width_px);
  }
  return out;
}

std::optional<Banding> find_banding(std::span<const RowMeans> pictures) {
  if (pictures.size() < 2 || pictures.front().rows.size() < kFewestRows) return std::nullopt;
  const std::size_t rows = pictures.front().rows.size();
  std::vector<std::vector<double>> signals;
  double window_sum = 1;
  for (std::size_t i = 1; i < pictures.size(); ++i)
    signals.push_back(difference(pictures[i - 1], pictures[i], window_sum));
  std::vector<double> lines(rows / 2, 0.0);  // lines[0] is the level, which was taken off
  for (std::size_t k = 1; k < lines.size(); ++k)
    lines[k] = std::sqrt(power_at(signals, static_cast<double>(k), rows));
  const double middle = median(std::vector<double>(lines.begin() + 1, lines.end()));
  int best = 0;
  double best_over = 0;
  for (int k = kFewestBands; k < static_cast<int>(lines.size()); ++k) {
    const double line = lines[static_cast<std::size_t>(k)];
    const double over = line / std::max(middle, 1e-12);
    if (over > kOverMedian && over > best_over && k * line > kOverNeighbours * median_around(lines, k)) {
      best = k;
      best_over = over;
    }
  }
  if (best == 0) return std::nullopt;
  Banding found;
  double best_power = 0;
  constexpr int kSteps = 50;  // to each side, over one line
  for (int step = -kSteps; step <= kSteps; ++step) {
    const double bands = best + static_cast<double>(step) / kSteps;
    const double power = power_at(signals, bands, rows);
    if (power > best_power) {
      best_power = power;
      found.bands = bands;
    }
  }
  found.over_median = best_over;
  // Depth from each picture against the mean of all, of which it is itself a part.
  const std::vector<double> mean = mean_rows(pictures);
  double sum = 0;
  for (const RowMeans& picture : pictures) {
    const auto signal = against_mean(picture, mean, window_sum);
    sum += std::norm(2.0 * compute_line(signal, found.bands / static_cast<double>(rows)) / window_sum);
  }
  const auto count = static_cast<double>(pictures.size());
  found.depth = std::sqrt(sum / count * count / (count - 1));
  if (found.depth < kShallowest) return std::nullopt;
  return found;
}

MainsAnswer tell_mains(const Banding& banding, std::chrono::duration<double> readout) {
  MainsAnswer out;
  out.light_hz = banding.bands / readout.count();
  for (const int mains : kMains_hz) {
    if (std::abs(out.light_hz / (2 * mains) - 1) <= kTolerance) out.mains_hz = mains;
  }
  out.why = fmt::format("{:.2f} bands in a readout of {:.1f} ms make {:.1f} Hz{}", banding.bands,
                        readout.count() * 1e3, out.light_hz,
                        out.mains_hz ? ""
                                     : ", which is neither 100 nor 120 Hz: the readout time of the "
                                       "profile may not be this board's");
  return out;
}

MainsAnswer tell_mains(const Banding& banding, std::span<const RowMeans> pictures) {
  MainsAnswer out;
  std::vector<std::pair<double, double>> seen;  // phase in radians, seconds
  if (!pictures.empty()) {
    const std::vector<double> mean = mean_rows(pictures);
    for (const RowMeans& picture : pictures) {
      if (!picture.stamp) continue;
      double window_sum = 1;
      const auto signal = against_mean(picture, mean, window_sum);
      const auto line = compute_line(signal, banding.bands / static_cast<double>(mean.size()));
      seen.emplace_back(std::arg(line), std::chrono::duration<double>(*picture.stamp).count());
    }
  }
  if (seen.size() < 4) {
    out.why =
        "100 or 120 Hz light cannot be told: neither the sensor's readout time (in the board profile) "
        "nor stamps of the board's clock are known";
    return out;
  }
  std::array<double, 2> agrees{};
  for (std::size_t h = 0; h < kMains_hz.size(); ++h) {
    int pairs = 0;
    for (std::size_t i = 1; i < seen.size(); ++i) {
      const double apart_s = seen[i].second - seen[i - 1].second;
      // The mains strays by 0.1 Hz, its light by twice that: over a second the phase would be lost.
      if (apart_s <= 0 || apart_s > 1) continue;
      const double moved = seen[i].first - seen[i - 1].first;
      agrees[h] += std::cos(moved - 2 * std::numbers::pi * 2 * kMains_hz[h] * apart_s);
      ++pairs;
    }
    if (pairs > 0) agrees[h] /= pairs;
  }
  const std::size_t better = agrees[1] > agrees[0] ? 1 : 0;
  if (agrees[better] >= kAgrees && agrees[better] - agrees[1 - better] >= kApart) {
    out.mains_hz = kMains_hz[better];
    out.light_hz = 2 * kMains_hz[better];
    out.why = fmt::format(
        "the bands move between pictures as {:.0f} Hz light does by the board's own clock "
        "(agreement {:.2f}, the other {:.2f})",
        out.light_hz, agrees[better], agrees[1 - better]);
  } else {
    out.why = fmt::format(
        "100 or 120 Hz light cannot be told: by the board's own clock the bands move as neither "
        "would, or as both would (agreement {:.2f} and {:.2f})",
        agrees[0], agrees[1]);
  }
  return out;
}

}  // namespace rookery::vision
