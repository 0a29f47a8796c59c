// What tolerances make of a sum: the worst case over the corners, and where most of many drawn cases fall.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "plan/answer.h"

namespace rookery::plan {

// One value that a sum takes, and between which bounds it may lie. All three in one unit, which the sum
// knows. nominal is what the plan reckons with; it lies between the bounds or on one of them.
struct Tolerance {
  double nominal = 0;
  double low = 0;
  double high = 0;
};

// `nominal` ± `share` of it.
Tolerance within(double nominal, double share);
// A value that does not vary.
inline Tolerance exactly(double value) { return {value, value, value}; }

// Reads one case (a value for each parameter, in their order) and writes the outputs. Pure.
using ToleranceSum = std::function<void(std::span<const double> values, std::span<double> outputs)>;

// What the sum gives with every parameter at its nominal value, and how far that spreads.
struct Spreads {
  std::vector<double> nominal;
  std::vector<Spread> spreads;  // all four members are set
};

inline constexpr int kDraws = 10'000;
// Parameters that may vary: the corners of n of them are 2^n cases.
inline constexpr std::size_t kMostVarying = 12;

// low and high are the extremes over all corners (each varying parameter at one of its bounds, and all at
// nominal), which is the worst case of a sum that rises or falls with each parameter alone. p5 and p95 are
// percentiles of kDraws cases, each parameter drawn evenly between its bounds: even, since of most parts only
// the bounds are known, and since that is more cautious than a bell. The draws are the same in every call
// with the same parameters.
// At most kMostVarying parameters vary; more is a bug and asserts.
Spreads spreads_of(std::span<const Tolerance> parameters, std::size_t outputs, const ToleranceSum& sum);

// The rule of the next function, for an answer's notes.
Note tolerance_note();

// `limit` held against what tolerances make of its value (limit.value, the nominal one):
// holds when the worst case is inside by `tight_share` of the bound, tight when only the worst case comes
// nearer or outside, fails when the nominal value or one case in twenty is outside. The value shown is the
// one that decided, and the label says which it is: "worst case", "19 of 20 cases" or "as planned".
Limit judged(Limit limit, const Spread& spread, double tight_share);

}  // namespace rookery::plan
