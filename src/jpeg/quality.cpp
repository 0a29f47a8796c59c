#include "jpeg/quality.h"

#include <cstdlib>

namespace rookery::jpeg {
namespace {

using Base = std::array<int, 64>;

// ITU-T T.81 (1992) annex K, table K.1 (luma) and table K.2 (chroma).
constexpr Base kLuma = {16, 11, 10, 16, 24,  40,  51,  61,  12, 12, 14, 19, 26,  58,  60,  55,
                        14, 13, 16, 24, 40,  57,  69,  56,  14, 17, 22, 29, 51,  87,  80,  62,
                        18, 22, 37, 56, 68,  109, 103, 77,  24, 35, 55, 64, 81,  104, 113, 92,
                        49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99};
constexpr Base kChroma = {17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99,
                          24, 26, 56, 99, 99, 99, 99, 99, 47, 66, 99, 99, 99, 99, 99, 99,
                          99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
                          99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99};

constexpr int sum_at(const Base& base, int quality) {
  const int scale = quality < 50 ? 5000 / quality : 200 - 2 * quality;
  int sum = 0;
  for (const int b : base) {
    const int t = (b * scale + 50) / 100;
    sum += t < 1 ? 1 : (t > 255 ? 255 : t);
  }
  return sum;
}

using Sums = std::array<int, 101>;  // by quality; [0] unused
constexpr Sums sums_of(const Base& base) {
  Sums sums{};
  for (int q = 1; q <= 100; ++q) sums[static_cast<std::size_t>(q)] = sum_at(base, q);
  return sums;
}
constexpr Sums kLumaSums = sums_of(kLuma);
constexpr Sums kChromaSums = sums_of(kChroma);

}  // namespace

int ijg_luma_sum(int quality) { return kLumaSums.at(static_cast<std::size_t>(quality)); }
int ijg_chroma_sum(int quality) { return kChromaSums.at(static_cast<std::size_t>(quality)); }

std::optional<int> estimate_ijg_quality(const QuantTable& luma) {
  int sum = 0;
  for (const auto value : luma) {
    if (value == 0) return std::nullopt;
    sum += value;
  }
  if (sum > kLumaSums[1]) return std::nullopt;
  int best = 100;
  for (int q = 99; q >= 1; --q) {
    const auto at = [sum](int quality) {
      return std::abs(kLumaSums[static_cast<std::size_t>(quality)] - sum);
    };
    if (at(q) < at(best)) best = q;
  }
  return best;
}

}  // namespace rookery::jpeg
