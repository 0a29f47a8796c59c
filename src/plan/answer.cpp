#include "plan/answer.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include <fmt/format.h>

namespace rookery::plan {

std::string_view name_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::holds:
      return "holds";
    case Verdict::tight:
      return "tight";
    case Verdict::fails:
      return "fails";
  }
  return "fails";
}

std::string_view words_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::holds:
      return "Holds";
    case Verdict::tight:
      return "Tight";
    case Verdict::fails:
      return "Does not hold";
  }
  return "Does not hold";
}

double Limit::margin_share() const {
  if (bound == 0) return margin() >= 0 ? 0 : -1;
  return margin() / std::abs(bound);
}

Limit judged(Limit limit, double tight_share) {
  const double share = limit.margin_share();
  limit.verdict = share < 0 ? Verdict::fails : share < tight_share ? Verdict::tight : Verdict::holds;
  return limit;
}

Verdict Answer::verdict() const {
  const Limit* nearest = nearest_limit();
  return nearest == nullptr ? Verdict::holds : nearest->verdict;
}

const Limit* Answer::nearest_limit() const& {
  const auto nearer = [](const Limit& a, const Limit& b) {
    if (a.verdict != b.verdict) return a.verdict > b.verdict;
    return a.margin_share() < b.margin_share();
  };
  const auto at = std::min_element(limits.begin(), limits.end(), nearer);
  return at == limits.end() ? nullptr : &*at;
}

const Figure& Answer::figure(std::string_view key) const& {
  const auto at = std::find_if(figures.begin(), figures.end(), [&](const Figure& f) { return f.key == key; });
  assert(at != figures.end());
  return *at;
}

const Limit& Answer::limit(std::string_view key) const& {
  const auto at = std::find_if(limits.begin(), limits.end(), [&](const Limit& l) { return l.key == key; });
  assert(at != limits.end());
  return *at;
}

}  // namespace rookery::plan
