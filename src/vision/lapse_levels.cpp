// How much brighter each frame is than the one before is the median over the cells, of which a head and what
// grows are the smaller part. Added up that drifts, by what grows; but only what differs from the frames
// round it is taken out, so the drift stays in the film as it was.
#include "vision/lapse_levels.h"

#include <algorithm>
#include <cmath>

namespace rookery::vision {
namespace {

constexpr float kDark = 12;  // darker cells tell no ratio
constexpr float kBright = 240;
constexpr double kFewest = 0.05;      // of the cells
constexpr std::size_t kStays = 4;     // frames on either side that tell a lamp from a flash
constexpr double kMostBand = 1.25;    // a row is changed by at most this factor
constexpr double kLeastBand = 0.004;  // shallower bands are not seen, and may be noise
// A row's band is believed when so many of its cells agree on it within 4 %.
constexpr double kAgree = 0.6;
constexpr double kNear = 0.04;

double median_of(std::vector<double>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double median_of(std::span<const double> values) {
  std::vector<double> copy(values.begin(), values.end());
  return median_of(copy);
}

bool tells(float level) { return level >= kDark && level <= kBright; }

// log2 of how much brighter `now` is.
double brighter_by(const LevelSample& before, const LevelSample& now) {
  std::vector<double> ratios;
  for (std::size_t i = 0; i < now.cells.size(); ++i) {
    if (tells(before.cells[i]) && tells(now.cells[i]))
      ratios.push_back(std::log2(static_cast<double>(now.cells[i] / before.cells[i])));
  }
  if (static_cast<double>(ratios.size()) >= kFewest * static_cast<double>(now.cells.size()))
    return median_of(ratios);
  double was = 1;
  double is = 1;
  for (const float cell : before.cells) was += static_cast<double>(cell);
  for (const float cell : now.cells) is += static_cast<double>(cell);
  return std::log2(std::max(is, 1.0) / std::max(was, 1.0));
}

double shifted_by(const std::vector<float>& before, const std::vector<float>& now) {
  std::vector<double> shifts;
  for (std::size_t i = 0; i < now.size(); ++i) shifts.push_back(static_cast<double>(now[i] - before[i]));
  return shifts.empty() ? 0 : median_of(shifts);
}

// The values within half a window of i that lie within [from, to).
std::span<const double> around(std::span<const double> values, std::size_t i, int window, std::size_t from,
                               std::size_t to) {
  const auto half = static_cast<std::size_t>(window / 2);
  const std::size_t first = std::max(from, i >= half ? i - half : 0);
  const std::size_t last = std::min(to, i + half + 1);
  return values.subspan(first, last - first);
}

// Where the level steps to stay: the frames after a lamp was switched.
std::vector<std::size_t> lamp_steps(std::span<const double> level, double least) {
  std::vector<std::size_t> steps;
  for (std::size_t i = 1; i < level.size(); ++i) {
    const std::size_t before = i >= kStays ? i - kStays : 0;
    const std::size_t after = std::min(level.size(), i + kStays);
    const double step = level[i] - level[i - 1];
    const double stays =
        median_of(level.subspan(i, after - i)) - median_of(level.subspan(before, i - before));
    // A lamp that takes two frames steps at the larger of them.
    if (std::abs(stays) < least || std::abs(step) < least / 2 || (step > 0) != (stays > 0)) continue;
    if (!steps.empty() && i - steps.back() < 2) {
      if (std::abs(step) > std::abs(level[steps.back()] - level[steps.back() - 1])) steps.back() = i;
      continue;
    }
    steps.push_back(i);
  }
  return steps;
}

// Each value's median of the window, and of those the mean: a step that stays becomes a ramp. Neither looks
// over a lamp.
std::vector<double> smoothed(std::span<const double> values, std::span<const std::size_t> lamps, int window) {
  std::vector<double> medians(values.begin(), values.end());
  std::vector<double> out(values.begin(), values.end());
  std::size_t from = 0;
  for (std::size_t part = 0; part <= lamps.size(); ++part) {
    const std::size_t to = part < lamps.size() ? lamps[part] : values.size();
    for (std::size_t i = from; i < to; ++i) medians[i] = median_of(around(values, i, window, from, to));
    for (std::size_t i = from; i < to; ++i) {
      const auto near = around(medians, i, window, from, to);
      double sum = 0;
      for (const double value : near) sum += value;
      out[i] = sum / static_cast<double>(near.size());
    }
    from = to;
  }
  return out;
}

// What banding multiplies the rows of each frame by, less 1; empty: there is none.
using Bands = std::vector<std::vector<double>>;

// The picture that usually stands round a frame: the median of each cell, all of one level and without what
// is known of their bands.
std::vector<float> usual_cells(std::span<const LevelSample> samples, std::span<const double> level,
                               const Bands& bands, std::size_t from, std::size_t to) {
  const auto columns = static_cast<std::size_t>(samples[from].columns);
  std::vector<float> out(samples[from].cells.size());
  std::vector<float> factors(to - from);
  std::vector<float> values(to - from);
  for (std::size_t c = 0; c < out.size(); ++c) {
    for (std::size_t i = from; i < to && c % columns == 0; ++i) {
      const double band = bands[i].empty() ? 0 : bands[i][c / columns];
      factors[i - from] = static_cast<float>(std::exp2(-level[i]) / (1 + band));
    }
    for (std::size_t i = from; i < to; ++i) values[i - from] = samples[i].cells[c] * factors[i - from];
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    out[c] = *middle;
  }
  return out;
}

// What banding multiplies the rows of `sample` by, or nothing when there is none.
std::vector<double> bands_of(const LevelSample& sample, double level, std::span<const float> usual) {
  const auto columns = static_cast<std::size_t>(sample.columns);
  const auto rows = static_cast<std::size_t>(sample.rows);
  std::vector<double> bands(rows, 0);
  std::vector<bool> known(rows, false);
  std::vector<double> ratios;
  const double factor = std::exp2(-level);
  for (std::size_t r = 0; r < rows; ++r) {
    ratios.clear();
    for (std::size_t c = r * columns; c < (r + 1) * columns; ++c) {
      if (tells(sample.cells[c]))
        ratios.push_back(static_cast<double>(sample.cells[c]) * factor / static_cast<double>(usual[c]) - 1);
    }
    if (ratios.size() < columns / 3) continue;
    const double middle = median_of(ratios);
    const auto near =
        std::ranges::count_if(ratios, [middle](double ratio) { return std::abs(ratio - middle) <= kNear; });
    if (static_cast<double>(near) < kAgree * static_cast<double>(ratios.size())) continue;
    bands[r] = middle;
    known[r] = true;
  }
  const auto count = static_cast<double>(std::ranges::count(known, true));
  // Something large moved, or it is another picture.
  if (count < static_cast<double>(rows) / 2) return {};
  double depth = 0;
  for (std::size_t r = 0; r < rows; ++r) depth += bands[r] * bands[r] / count;
  if (std::sqrt(depth) < kLeastBand) return {};
  // Rows of which nothing is known take what lies between their neighbours.
  for (std::size_t r = 0; r < rows; ++r) {
    if (known[r]) continue;
    std::size_t above = r;
    while (above > 0 && !known[above]) --above;
    std::size_t below = r;
    while (below + 1 < rows && !known[below]) ++below;
    const double share =
        below == above ? 0 : static_cast<double>(r - above) / static_cast<double>(below - above);
    const double a = known[above] ? bands[above] : bands[below];
    const double b = known[below] ? bands[below] : bands[above];
    bands[r] = a + share * (b - a);
  }
  return bands;
}

// Of all frames. Twice: the first time the bands are in the usual picture as well.
Bands all_bands(std::span<const LevelSample> samples, std::span<const double> level,
                std::span<const std::size_t> lamps, int window) {
  const auto half = static_cast<std::size_t>(window / 2);
  Bands bands(samples.size());
  for (int pass = 0; pass < 2; ++pass) {
    Bands found(samples.size());
    std::size_t part = 0;
    for (std::size_t i = 0; i < samples.size(); ++i) {
      while (part < lamps.size() && lamps[part] <= i) ++part;
      const std::size_t from = std::max(part > 0 ? lamps[part - 1] : 0, i >= half ? i - half : 0);
      const std::size_t to = std::min(part < lamps.size() ? lamps[part] : samples.size(), i + half + 1);
      if (to - from < 3) continue;
      found[i] = bands_of(samples[i], level[i], usual_cells(samples, level, bands, from, to));
      for (double& band : found[i]) band = std::clamp(band, 1 / kMostBand - 1, kMostBand - 1);
    }
    bands = std::move(found);
  }
  return bands;
}

base::Error bad(std::string what) { return {base::ErrorCode::invalid_value, "levels", std::move(what)}; }

base::Result<void> check(std::span<const LevelSample> samples, const LevelOptions& o) {
  if (o.window < 3 || o.window > 129 || o.window % 2 == 0)
    return bad(fmt::format("a window of {} frames: give an odd number from 3 to 129", o.window));
  if (!(o.most_gain >= 1 && o.most_gain <= 2))
    return bad(fmt::format("a gain of at most {}: give 1 to 2", o.most_gain));
  if (!(o.most_colour >= 0 && o.most_colour <= 40) || !(o.most_noise >= 0 && o.most_noise <= 40))
    return bad(fmt::format("at most {} levels of colour and {} of noise: give 0 to 40", o.most_colour,
                           o.most_noise));
  if (!(o.lamp >= 1.05 && o.lamp <= 4))
    return bad(fmt::format("a lamp's step of {}: give 1.05 to 4", o.lamp));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const LevelSample& s = samples[i];
    const LevelSample& first = samples.front();
    if (s.columns < 1 || s.rows < 1 ||
        s.cells.size() != static_cast<std::size_t>(s.columns) * static_cast<std::size_t>(s.rows))
      return bad(fmt::format("frame {}: {} cells for {}×{}", i, s.cells.size(), s.columns, s.rows));
    if (s.columns != first.columns || s.rows != first.rows || s.blue.size() != first.blue.size() ||
        s.red.size() != first.red.size())
      return bad(fmt::format("frame {} is of another size or kind than the first", i));
    const auto finite = [](const std::vector<float>& values) {
      return std::ranges::all_of(values, [](float value) { return std::isfinite(value); });
    };
    if (!finite(s.cells) || !finite(s.blue) || !finite(s.red) || !(s.noise >= 0 && s.noise < 1e6))
      return bad(fmt::format("frame {}: its levels or noise are no numbers of their range", i));
  }
  return base::ok();
}

}  // namespace

base::Result<std::vector<LevelCorrection>> plan_levels(std::span<const LevelSample> samples,
                                                       const LevelOptions& o) {
  if (auto good = check(samples, o); !good) return good.error();
  std::vector<double> level, blue, red;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const LevelSample& now = samples[i];
    const LevelSample& before = samples[i == 0 ? 0 : i - 1];
    level.push_back(i == 0 ? 0 : level.back() + brighter_by(before, now));
    blue.push_back(i == 0 ? 0 : blue.back() + shifted_by(before.blue, now.blue));
    red.push_back(i == 0 ? 0 : red.back() + shifted_by(before.red, now.red));
  }
  const auto lamps = lamp_steps(level, std::log2(o.lamp));
  const auto wanted = smoothed(level, lamps, o.window);
  const auto wanted_blue = smoothed(blue, lamps, o.window);
  const auto wanted_red = smoothed(red, lamps, o.window);
  const Bands bands = o.bands ? all_bands(samples, level, lamps, o.window) : Bands(samples.size());
  std::vector<LevelCorrection> out(samples.size());
  std::size_t part = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    LevelCorrection& to = out[i];
    while (part < lamps.size() && lamps[part] <= i) ++part;
    to.lamp_switched = part > 0 && lamps[part - 1] == i;
    // A picture whose noise shows already is not brightened at all.
    const double brightest = std::min(
        o.most_gain, samples[i].noise > 0 ? std::max(1.0, o.most_noise / samples[i].noise) : o.most_gain);
    const auto limit = [&](double value, double least, double most) {
      to.limited = to.limited || value < least || value > most;
      return std::clamp(value, least, most);
    };
    to.gain = limit(std::exp2(wanted[i] - level[i]), 1 / o.most_gain, brightest);
    to.blue_shift = limit(wanted_blue[i] - blue[i], -o.most_colour, o.most_colour);
    to.red_shift = limit(wanted_red[i] - red[i], -o.most_colour, o.most_colour);
    for (const double band : bands[i]) to.rows.push_back(static_cast<float>(1 / (1 + band)));
  }
  return out;
}

}  // namespace rookery::vision
