#include "vision/cell_light.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace rookery::vision {
namespace {

constexpr std::size_t kTerms = 10;     // of a surface of the third degree
constexpr std::size_t kSamples = 960;  // cells tell the surface well enough
// How far a cell may lie from the fit to count by half, grey levels, pass by pass.
constexpr std::array kSpread = {30.0F, 14.0F, 8.0F, 6.0F};
constexpr float kLeast = 4;         // grey levels: what is darker tells nothing of a share
constexpr float kMost = 250;        // … brighter may be cut off
constexpr float kPartly = 215;      // … some of a cell's pixels may be
constexpr float kBrighter = 1.05F;  // share of the usual light
constexpr float kMostLight = 2.5F;  // logarithm of the share: more is no light of the same scene
constexpr float kRowTrust = 4;      // cells of middling grey that a row is believed for half

using Terms = std::array<float, kTerms>;
using Matrix = std::array<std::array<double, kTerms>, kTerms>;

float place(std::size_t at, std::size_t of) {
  return 2 * (static_cast<float>(at) + 0.5F) / static_cast<float>(of) - 1;
}

Terms terms_at(float u, float v) {
  return {1, u, v, u * u, u * v, v * v, u * u * u, u * u * v, u * v * v, v * v * v};
}

// Solves a·x = b by Cholesky; a is symmetric and positive, its lower half is given.
Terms solve(Matrix a, std::array<double, kTerms> b) {
  for (std::size_t i = 0; i < kTerms; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double sum = a[i][j];
      for (std::size_t k = 0; k < j; ++k) sum -= a[i][k] * a[j][k];
      a[i][j] = i == j ? std::sqrt(std::max(sum, 1e-9)) : sum / a[j][j];
    }
  }
  for (std::size_t i = 0; i < kTerms; ++i) {
    for (std::size_t k = 0; k < i; ++k) b[i] -= a[i][k] * b[k];
    b[i] /= a[i][i];
  }
  Terms x{};
  for (std::size_t i = kTerms; i-- > 0;) {
    for (std::size_t k = i + 1; k < kTerms; ++k) b[i] -= a[k][i] * b[k];
    b[i] /= a[i][i];
    x[i] = static_cast<float>(b[i]);
  }
  return x;
}

// The light's share, made better pass by pass; in logarithms, where lights add up.
class Fit {
 public:
  Fit(const jpeg::LumaGrid& grid, const Cells& reference)
      : grid_(grid),
        reference_(reference),
        width_(static_cast<std::size_t>(grid.width)),
        height_(static_cast<std::size_t>(grid.height)),
        step_(std::max<std::size_t>(1, reference.size() / kSamples) | 1U),
        logs_(reference.size(), 0),
        light_(reference.size(), 0),
        shares_(reference.size(), 1),
        rows_(height_, 0) {
    std::vector<float> known;
    for (std::size_t i = 0; i < logs_.size(); ++i) {
      if (!tells(i)) continue;
      logs_[i] = std::log(value(i) / reference[i]);
      known.push_back(logs_[i]);
    }
    if (known.empty()) return;
    const auto middle = known.begin() + static_cast<std::ptrdiff_t>(known.size() / 2);
    std::nth_element(known.begin(), middle, known.end());
    std::fill(light_.begin(), light_.end(), *middle);
    std::fill(shares_.begin(), shares_.end(), std::exp(*middle));
    for (const float spread : kSpread) pass(spread);
  }

  Levelled take() && {
    Levelled made{Cells(shares_.size()), {}, 1, 0};
    std::size_t lost = 0;
    for (std::size_t i = 0; i < shares_.size(); ++i) {
      made.flat[i] = value(i) / shares_[i];
      // What is cut off may well be as bright as it was.
      if (value(i) > kMost) made.flat[i] = std::max(made.flat[i], reference_[i]);
      if (shares_[i] > kBrighter && value(i) > kPartly) ++lost;
    }
    made.shares = shares_;
    if (shares_.empty()) return made;
    made.lost = static_cast<float>(lost) / static_cast<float>(shares_.size());
    const auto middle = shares_.begin() + static_cast<std::ptrdiff_t>(shares_.size() / 2);
    std::nth_element(shares_.begin(), middle, shares_.end());
    made.share = *middle;
    return made;
  }

 private:
  float value(std::size_t i) const { return static_cast<float>(grid_.cells[i]); }
  bool tells(std::size_t i) const {
    return reference_[i] >= kLeast && reference_[i] <= kMost && value(i) >= kLeast && value(i) <= kMost;
  }
  // How much cell i counts: a share is known the better the brighter the cell, and not where something is
  // new.
  float weight(std::size_t i, float spread) const {
    if (!tells(i)) return 0;
    const float expected = reference_[i] * shares_[i];
    const float apart = (value(i) - expected) / spread;
    const float near = 1 / (1 + apart * apart);
    const float bright = expected / 100;
    return near * near * bright * bright;
  }

  void pass(float spread) {
    const Terms surface = fit_surface(spread);
    for (std::size_t y = 0; y < height_; ++y) {
      const float v = place(y, height_);
      for (std::size_t x = 0; x < width_; ++x) {
        const Terms at = terms_at(place(x, width_), v);
        float sum = 0;
        for (std::size_t r = 0; r < kTerms; ++r) sum += surface[r] * at[r];
        light_[y * width_ + x] = sum;
      }
      rows_[y] = row_apart(y, spread);
      for (std::size_t i = y * width_; i < (y + 1) * width_; ++i)
        shares_[i] = std::exp(std::clamp(light_[i] + rows_[y], -kMostLight, kMostLight));
    }
  }

  Terms fit_surface(float spread) const {
    Matrix a{};
    std::array<double, kTerms> b{};
    for (std::size_t i = 0; i < logs_.size(); i += step_) {
      const float w = weight(i, spread);
      if (w <= 0) continue;
      const std::size_t y = i / width_;
      const Terms at = terms_at(place(i % width_, width_), place(y, height_));
      const float own = logs_[i] - rows_[y];
      for (std::size_t r = 0; r < kTerms; ++r) {
        const float wr = w * at[r];
        b[r] += static_cast<double>(wr * own);
        for (std::size_t c = 0; c <= r; ++c) a[r][c] += static_cast<double>(wr * at[c]);
      }
    }
    // A little against surfaces that nothing holds at a border.
    const double trust = 0.002 * a[0][0] + 1e-6;
    for (std::size_t r = 0; r < kTerms; ++r) a[r][r] += trust;
    b[0] += trust * static_cast<double>(light_[light_.size() / 2]);
    return solve(a, b);
  }

  // What the row has beyond the surface.
  float row_apart(std::size_t y, float spread) const {
    float sum = 0;
    float of = kRowTrust;
    for (std::size_t i = y * width_; i < (y + 1) * width_; ++i) {
      const float w = weight(i, spread);
      sum += w * (logs_[i] - light_[i]);
      of += w;
    }
    return sum / of;
  }

  const jpeg::LumaGrid& grid_;
  const Cells& reference_;
  std::size_t width_;
  std::size_t height_;
  std::size_t step_;           // odd, so that all columns are asked
  std::vector<float> logs_;    // of the share that each cell has by itself
  std::vector<float> light_;   // … by the surface
  std::vector<float> shares_;  // by surface and row; no logarithm
  std::vector<float> rows_;
};

}  // namespace

Levelled levelled(const jpeg::LumaGrid& grid, const Cells& reference) { return Fit(grid, reference).take(); }

}  // namespace rookery::vision
