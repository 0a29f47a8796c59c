#include "vision/cell_light.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace rookery::vision {
namespace {

constexpr std::size_t kTerms = 10;  // of a surface of the third degree
constexpr int kEvery = 3;           // columns: so many tell the surface well enough
// How far a cell may lie from the fit to count by half, grey levels, pass by pass.
constexpr std::array kSpread = {30.0F, 16.0F, 10.0F, 7.0F, 6.0F};
constexpr float kLeast = 4;         // grey levels: what is darker tells nothing of a share
constexpr float kMost = 250;        // … brighter may be cut off
constexpr float kMostLight = 2.5F;  // logarithm of the share: more is no light of the same scene
constexpr double kRowTrust = 4;     // cells of middling grey that a row is believed for half

using Terms = std::array<double, kTerms>;

Terms terms_at(double u, double v) {
  return {1, u, v, u * u, u * v, v * v, u * u * u, u * u * v, u * v * v, v * v * v};
}

// Solves a·x = b by Cholesky; a is symmetric and positive.
Terms solve(std::array<Terms, kTerms> a, Terms b) {
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
  for (std::size_t i = kTerms; i-- > 0;) {
    for (std::size_t k = i + 1; k < kTerms; ++k) b[i] -= a[k][i] * b[k];
    b[i] /= a[i][i];
  }
  return b;
}

// The logarithm of the light's share, cell by cell, made better pass by pass.
class Fit {
 public:
  Fit(const jpeg::LumaGrid& grid, const Cells& reference)
      : grid_(grid),
        reference_(reference),
        width_(static_cast<std::size_t>(grid.width)),
        height_(static_cast<std::size_t>(grid.height)),
        share_(reference.size(), 0),
        light_(reference.size(), 0),
        rows_(height_, 0) {
    std::vector<float> known;
    for (std::size_t i = 0; i < share_.size(); ++i) {
      if (!tells(i)) continue;
      share_[i] = std::log(static_cast<float>(grid.cells[i]) / reference[i]);
      known.push_back(share_[i]);
    }
    if (known.empty()) return;
    const auto middle = known.begin() + static_cast<std::ptrdiff_t>(known.size() / 2);
    std::nth_element(known.begin(), middle, known.end());
    std::fill(light_.begin(), light_.end(), *middle);
    surface_[0] = static_cast<double>(*middle);
    for (const float spread : kSpread) pass(spread);
  }

  Cells take() const {
    Cells flat(light_.size());
    for (std::size_t i = 0; i < flat.size(); ++i)
      flat[i] =
          static_cast<float>(grid_.cells[i]) * std::exp(-std::clamp(light_[i], -kMostLight, kMostLight));
    return flat;
  }

 private:
  bool tells(std::size_t i) const {
    const auto value = static_cast<float>(grid_.cells[i]);
    return reference_[i] >= kLeast && reference_[i] <= kMost && value >= kLeast && value <= kMost;
  }
  // How much cell i counts: a share is known the better the brighter the cell, and not where something is
  // new.
  double weight(std::size_t i, float spread) const {
    if (!tells(i)) return 0;
    const float expected = reference_[i] * std::exp(light_[i]);
    const float apart = (static_cast<float>(grid_.cells[i]) - expected) / spread;
    const float near = 1 / (1 + apart * apart);
    const float bright = expected / 100;
    return static_cast<double>(near * near * bright * bright);
  }
  double place(std::size_t at, std::size_t of) const {
    return 2 * (static_cast<double>(at) + 0.5) / static_cast<double>(of) - 1;
  }

  void pass(float spread) {
    fit_surface(spread);
    fit_rows(spread);
    for (std::size_t y = 0; y < height_; ++y) {
      for (std::size_t x = 0; x < width_; ++x) light_[y * width_ + x] = surface_at(x, y) + rows_[y];
    }
  }

  void fit_surface(float spread) {
    std::array<Terms, kTerms> a{};
    Terms b{};
    for (std::size_t y = 0; y < height_; ++y) {
      for (std::size_t x = y % kEvery; x < width_; x += kEvery) {
        const std::size_t i = y * width_ + x;
        const double w = weight(i, spread);
        if (w <= 0) continue;
        const Terms at = terms_at(place(x, width_), place(y, height_));
        const auto value = static_cast<double>(share_[i] - rows_[y]);
        for (std::size_t r = 0; r < kTerms; ++r) {
          const double wr = w * at[r];
          b[r] += wr * value;
          for (std::size_t c = 0; c <= r; ++c) a[r][c] += wr * at[c];
        }
      }
    }
    // A little against surfaces that nothing holds at a border.
    for (std::size_t r = 1; r < kTerms; ++r) a[r][r] += 0.02 * a[0][0] / 10 + 1e-6;
    a[0][0] += 1e-6;
    surface_ = solve(a, b);
  }

  float surface_at(std::size_t x, std::size_t y) const {
    const Terms at = terms_at(place(x, width_), place(y, height_));
    double sum = 0;
    for (std::size_t r = 0; r < kTerms; ++r) sum += surface_[r] * at[r];
    return static_cast<float>(sum);
  }

  void fit_rows(float spread) {
    for (std::size_t y = 0; y < height_; ++y) {
      double sum = 0;
      double of = kRowTrust;
      for (std::size_t x = 0; x < width_; ++x) {
        const std::size_t i = y * width_ + x;
        const double w = weight(i, spread);
        sum += w * static_cast<double>(share_[i] - surface_at(x, y));
        of += w;
      }
      rows_[y] = static_cast<float>(sum / of);
    }
  }

  const jpeg::LumaGrid& grid_;
  const Cells& reference_;
  std::size_t width_;
  std::size_t height_;
  std::vector<float> share_;
  std::vector<float> light_;
  std::vector<float> rows_;
  Terms surface_{};
};

}  // namespace

Cells levelled(const jpeg::LumaGrid& grid, const Cells& reference) { return Fit(grid, reference).take(); }

}  // namespace rookery::vision
