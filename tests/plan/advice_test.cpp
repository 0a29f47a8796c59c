// What the view's remedies advise is what its fields take: nobody is sent beyond a range and refused there.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <array>
#include <cmath>
#include <regex>

#include <fmt/format.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

struct Advice {
  const char* words;  // that stand before the number
  std::string_view key;
};

constexpr std::array kAdvice = {Advice{"[Gg]o back to ", "distance"},  Advice{"[Cc]ome to ", "distance"},
                                Advice{"[Ll]ens of ", "focal-length"}, Advice{"[Pp]icture ", "width"},
                                Advice{"[Ff]or at most ", "exposure"}, Advice{"[Ff]ocus at ", "focus"}};

// A value between two, by ratios.
std::string between(double least, double most, std::string_view unit) {
  const double place = *rc::gen::inRange(0, 1000) / 1000.0;
  return fmt::format("{:.6f} {}", least * std::pow(most / least, place), unit);
}

RC_GTEST_PROP(Advice, OfTheViewIsTakenWhenItIsTypedBack, ()) {
  const Subject& view = *find_subject("view");
  std::vector<Given> given = {
      {"distance", between(0.03, 200, "m")},
      {"focal-length", between(0.5, 100, "mm")},
      {"speed", between(0.0001, 50, "m/s")},
      {"exposure", between(0.001, 10'000, "ms")},
      {"focus", between(0.03, 1000, "m")},
      {"detail", between(0.01, 1000, "mm")},
      {"task", *rc::gen::element<std::string>("monitor", "detect", "identify", "inspect")}};
  if (*rc::gen::arbitrary<bool>()) {
    given.push_back({"bed-width", between(0.02, 5, "m")});
    given.push_back({"bed-depth", between(0.02, 5, "m")});
  }
  const auto planned = plan(view, given);
  if (!planned) return;
  for (const Limit& limit : planned->answer.limits) {
    for (const Advice& advice : kAdvice) {
      std::smatch found;
      if (!std::regex_search(limit.remedy, found,
                             std::regex(std::string(advice.words) + "([0-9.]+ ?[a-zµ]+)")))
        continue;
      RC_LOG() << limit.remedy << '\n';
      const auto value = std::find_if(view.fields.begin(), view.fields.end(),
                                      [&](const Field& f) { return f.key == advice.key; });
      RC_ASSERT(value != view.fields.end());
      const std::vector<Given> back = {{std::string(advice.key), found[1]}};
      RC_ASSERT(read_values(std::span(&*value, 1), back, "view").has_value());
    }
  }
}

}  // namespace
}  // namespace rookery::plan
