// The chance in a make-believe camera's life: seeded, and the one place that knows of the held-out ranges.
#pragma once

#include <cmath>
#include <random>

namespace rookery::bench {

class Dice {
 public:
  Dice(std::uint64_t seed, bool held_out) : random_(seed), held_out_(held_out) {}
  double uniform(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  bool chance(double p) { return uniform(0, 1) < p; }
  int count(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }
  // A parameter: even in the logarithm between low and high, or up to 1.8 times beyond either.
  double span(double low, double high) {
    if (held_out_) {
      const bool below = chance(0.5);
      high = below ? low : high * 1.8;
      low = below ? low / 1.8 : high / 1.8;
    }
    return low * std::pow(high / low, uniform(0, 1));
  }
  double normal(double mean, double deviation) {
    return std::normal_distribution<double>(mean, deviation)(random_);
  }
  double exponential(double mean) { return std::exponential_distribution<double>(1 / mean)(random_); }

 private:
  std::mt19937_64 random_;
  bool held_out_;
};

}  // namespace rookery::bench
