#include "plan/tolerance.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <random>

#include <fmt/format.h>

namespace rookery::plan {
namespace {

// Any number does; this one stays, so that a plan says the same tomorrow.
constexpr std::uint64_t kSeed = 20'260'301;

// Evenly from 0 to 1. Not std::uniform_real_distribution, whose numbers differ between libraries.
double drawn(std::mt19937_64& random) { return static_cast<double>(random() >> 11) * 0x1p-53; }

std::vector<std::size_t> varying(std::span<const Tolerance> parameters) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < parameters.size(); ++i) {
    if (parameters[i].low < parameters[i].high) out.push_back(i);
  }
  return out;
}

// The value below which `share` of `values` lie; reorders them.
double percentile(std::span<double> values, double share) {
  const std::ptrdiff_t at = std::lround(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

void find_extremes(std::span<const Tolerance> parameters, const ToleranceSum& sum, Spreads& out) {
  const std::vector<std::size_t> open = varying(parameters);
  assert(open.size() <= kMostVarying);
  std::vector<double> values;
  for (const Tolerance& each : parameters) values.push_back(each.nominal);
  std::vector<double> outputs(out.nominal.size());
  for (std::size_t corner = 0; corner < std::size_t{1} << open.size(); ++corner) {
    for (std::size_t bit = 0; bit < open.size(); ++bit) {
      const Tolerance& each = parameters[open[bit]];
      values[open[bit]] = (corner >> bit & 1) != 0 ? each.high : each.low;
    }
    sum(values, outputs);
    for (std::size_t i = 0; i < outputs.size(); ++i) {
      out.spreads[i].low = std::min(out.spreads[i].low, outputs[i]);
      out.spreads[i].high = std::max(out.spreads[i].high, outputs[i]);
    }
  }
}

void find_percentiles(std::span<const Tolerance> parameters, const ToleranceSum& sum, Spreads& out) {
  std::mt19937_64 random(kSeed);
  const std::size_t count = out.nominal.size();
  std::vector<double> values(parameters.size());
  std::vector<double> outputs(count);
  std::vector<double> drawn_outputs(count * kDraws);
  for (std::size_t draw = 0; draw < kDraws; ++draw) {
    for (std::size_t i = 0; i < values.size(); ++i)
      values[i] = parameters[i].low + (parameters[i].high - parameters[i].low) * drawn(random);
    sum(values, outputs);
    for (std::size_t i = 0; i < count; ++i) drawn_outputs[i * kDraws + draw] = outputs[i];
  }
  for (std::size_t i = 0; i < count; ++i) {
    const std::span<double> all = std::span(drawn_outputs).subspan(i * kDraws, kDraws);
    out.spreads[i].p5 = percentile(all, 0.05);
    out.spreads[i].p95 = percentile(all, 0.95);
  }
}

}  // namespace

Tolerance within(double nominal, double share) {
  const double part = std::abs(nominal) * share;
  return {nominal, nominal - part, nominal + part};
}

Spreads spreads_of(std::span<const Tolerance> parameters, std::size_t outputs, const ToleranceSum& sum) {
  std::vector<double> values;
  for (const Tolerance& each : parameters) {
    assert(each.low <= each.nominal && each.nominal <= each.high);
    values.push_back(each.nominal);
  }
  Spreads out;
  out.nominal.resize(outputs);
  sum(values, out.nominal);
  for (const double value : out.nominal) out.spreads.push_back({value, value, value, value});
  find_extremes(parameters, sum, out);
  find_percentiles(parameters, sum, out);
  return out;
}

Note tolerance_note() {
  return {.text =
              "One rule for every limit that tolerances move: it holds when the worst case is inside with "
              "room, is tight when the worst case has little room or only it is outside, and does not hold "
              "when more than one case in twenty, or the plan itself, is outside. The value and the room "
              "beside a limit are those of the case that its words name."};
}

Limit judged(Limit limit, const Spread& spread, double tight_share) {
  assert(spread.p5 && spread.p95);
  const double nominal = limit.value;
  const double worst = limit.at_most ? spread.high : spread.low;
  const double usual = limit.at_most ? std::max(*spread.p95, nominal) : std::min(*spread.p5, nominal);
  const auto inside = [&](double value) {
    limit.value = value;
    return limit.margin() >= 0;
  };
  if (inside(worst)) {
    limit.label += ", worst case";
    return judged(std::move(limit), tight_share);
  }
  if (inside(usual)) {
    limit.verdict = Verdict::tight;
    limit.label += ", 19 of 20 cases";
    limit.remedy = fmt::format("In the worst case it is {}. {}", show_value(worst, limit.kind), limit.remedy);
    return limit;
  }
  limit.verdict = Verdict::fails;
  const bool as_planned = inside(nominal);
  limit.value = as_planned ? usual : nominal;
  limit.label += as_planned ? ", 19 of 20 cases" : ", as planned";
  return limit;
}

}  // namespace rookery::plan
