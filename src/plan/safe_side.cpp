#include "plan/safe_side.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdlib>
#include <string>

namespace rookery::plan {
namespace {

double as_typed(double value, Kind kind, int digits) {
  const auto read = read_value(show_value(value, kind, digits), kind, "bound");
  assert(read.has_value());
  return *read;
}

// What the last digit of `text` counts.
double last_digit(const std::string& text, Kind kind) {
  const std::size_t number = std::min(text.find_first_not_of("0123456789.-"), text.size());
  const std::size_t point = text.find('.');
  const double decimals = point < number ? static_cast<double>(number - point - 1) : 0;
  const auto value = read_value(text, kind, "bound");
  assert(value.has_value());
  const double shown = std::strtod(text.c_str(), nullptr);
  if (shown == 0) return 0;
  const double unit = *value / shown;
  return unit * std::pow(10.0, -decimals);
}

double rounded(double bound, Kind kind, int digits, double direction) {
  assert(bound > 0);
  const double safe = bound * (1 + direction * 1e-9);
  double value = as_typed(safe, kind, digits);
  const double step = direction * last_digit(show_value(safe, kind, digits), kind);
  // A small part of a step is enough where it leads into a smaller unit, whose steps are finer.
  for (const double part : {0.05, 0.5, 1.0, 1.5, 2.0}) {
    if ((value - safe) * direction >= 0) break;
    value = as_typed(safe + part * step, kind, digits);
  }
  return value;
}

}  // namespace

double shown_at_most(double bound, Kind kind, int digits) { return rounded(bound, kind, digits, -1); }
double shown_at_least(double bound, Kind kind, int digits) { return rounded(bound, kind, digits, 1); }

}  // namespace rookery::plan
