#include "vision/light_field.h"

#include <algorithm>
#include <cmath>

namespace rookery::vision {
namespace {

struct Term {
  int a;  // of u, left to right −1 to 1
  int b;  // of v, top to bottom
};
constexpr std::array<Term, 9> kShape{
    {{1, 0}, {0, 1}, {2, 0}, {1, 1}, {0, 2}, {3, 0}, {2, 1}, {1, 2}, {0, 3}}};

// A remainder of 4 grey levels halves a cell's weight.
constexpr float kHalfWeight = 16;
// Brighter cells are clipped in the sensor.
constexpr float kClipped = 250;
// Every second row says enough.
constexpr int kRowStep = 2;
// Leans towards no field at all: as if so many grey levels squared stood against each term, a cell.
constexpr double kLean = 2;
constexpr double kMost = 0.6;

double to_the(double base, int power) {
  double result = 1;
  for (int i = 0; i < power; ++i) result *= base;
  return result;
}

double across(int at, int size) { return size > 1 ? 2.0 * at / (size - 1) - 1 : 0; }

// Gauss with pivots; what cannot be told apart stays as it is.
template <std::size_t n>
std::array<double, n> solved(std::array<std::array<double, n>, n> all, std::array<double, n> wanted) {
  for (std::size_t step = 0; step < n; ++step) {
    std::size_t best = step;
    for (std::size_t i = step + 1; i < n; ++i)
      if (std::abs(all[i][step]) > std::abs(all[best][step])) best = i;
    if (std::abs(all[best][step]) < 1e-9) return {};
    std::swap(all[step], all[best]);
    std::swap(wanted[step], wanted[best]);
    for (std::size_t i = step + 1; i < n; ++i) {
      const double share = all[i][step] / all[step][step];
      for (std::size_t j = step; j < n; ++j) all[i][j] -= share * all[step][j];
      wanted[i] -= share * wanted[step];
    }
  }
  for (std::size_t step = n; step-- > 0;) {
    for (std::size_t j = step + 1; j < n; ++j) wanted[step] -= all[step][j] * wanted[j];
    wanted[step] /= all[step][step];
  }
  return wanted;
}

}  // namespace

void LightField::begin(int width, int height) {
  width_ = width;
  height_ = height;
  clear();
  powers_.clear();
  for (int power = 0; power <= 2 * kDegree; ++power)
    for (int x = 0; x < width; ++x) powers_.push_back(static_cast<float>(to_the(across(x, width), power)));
}

void LightField::row(int y, std::span<float> factors) const {
  const double v = across(y, height_);
  std::array<float, kDegree + 1> of_u{1, 0, 0, 0};
  for (std::size_t i = 0; i < kTerms; ++i)
    of_u[static_cast<std::size_t>(kShape[i].a)] += static_cast<float>(terms_[i] * to_the(v, kShape[i].b));
  const float* u = &powers_[static_cast<std::size_t>(width_)];
  for (std::size_t x = 0; x < factors.size(); ++x)
    factors[x] = of_u[0] + u[x] * (of_u[1] + u[x] * (of_u[2] + u[x] * of_u[3]));
}

void LightField::add_row(int y, std::span<const float> expected, std::span<const std::uint8_t> now,
                         Sums& sums) const {
  const auto width = static_cast<std::size_t>(width_);
  std::array<float, 2 * kDegree + 1> all{};
  std::array<float, kDegree + 1> wanted{};
  for (std::size_t x = 0; x < width; ++x) {
    const float was = expected[x];
    const float is = now[x];
    const float left = is - was;
    const float weight = was > kClipped || is > kClipped ? 0.0F : was / (1.0F + left * left / kHalfWeight);
    for (std::size_t k = 0; k < all.size(); ++k) all[k] += weight * was * powers_[k * width + x];
    for (std::size_t k = 0; k < wanted.size(); ++k) wanted[k] += weight * left * powers_[k * width + x];
  }
  const double v = across(y, height_);
  for (std::size_t i = 0; i < kTerms; ++i) {
    sums.wanted[i] +=
        static_cast<double>(wanted[static_cast<std::size_t>(kShape[i].a)]) * to_the(v, kShape[i].b);
    for (std::size_t j = 0; j < kTerms; ++j) {
      sums.all[i][j] += static_cast<double>(all[static_cast<std::size_t>(kShape[i].a + kShape[j].a)]) *
                        to_the(v, kShape[i].b + kShape[j].b);
    }
  }
}

void LightField::follow(std::span<const float> expected, std::span<const std::uint8_t> now) {
  const auto width = static_cast<std::size_t>(width_);
  Sums sums;
  for (int y = 0; y < height_; y += kRowStep) {
    const std::size_t first = static_cast<std::size_t>(y) * width;
    add_row(y, expected.subspan(first, width), now.subspan(first, width), sums);
  }
  const double lean = kLean * static_cast<double>(expected.size()) / kRowStep;
  for (std::size_t i = 0; i < kTerms; ++i) {
    sums.all[i][i] += lean;
    sums.wanted[i] -= lean * terms_[i];
  }
  const auto change = solved(sums.all, sums.wanted);
  double most = 0;
  for (std::size_t i = 0; i < kTerms; ++i) {
    terms_[i] += change[i];
    most += std::abs(terms_[i]);
  }
  if (most > kMost)
    for (double& term : terms_) term *= kMost / most;
}

}  // namespace rookery::vision
