// What "supply" recommends, typed back in, holds: over plans drawn at random.
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <random>

#include <fmt/format.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

using Asked = std::vector<Given>;

// The same plans in every run.
constexpr int kPlans = 300;

Asked drawn_plan(std::mt19937_64& random) {
  const auto number = [&](int least, int most) {
    return least + static_cast<int>(random() % static_cast<unsigned>(most - least + 1));
  };
  const auto one_of = [&](std::initializer_list<std::string_view> words) {
    return std::string(*(words.begin() + number(0, static_cast<int>(words.size()) - 1)));
  };
  Asked out = {{"source", one_of({"supply-24", "supply-12", "other"})},
               {"regulator", one_of({"buck-40", "buck-28"})},
               {"size", one_of({"26 AWG", "0.22 mm2", "0.5 mm2", "0.75 mm2"})},
               {"length", fmt::format("{} cm", number(10, 500))},
               {"lamp", one_of({"never", "picture", "steady"})},
               {"boards", fmt::format("{}", number(1, 5))},
               {"feed-length", fmt::format("{} cm", number(10, 2000))},
               {"feed-size", one_of({"24 AWG", "0.5 mm2", "1 mm2"})},
               {"temperature", fmt::format("{} C", number(0, 70))},
               {"linear-heat-resistance", fmt::format("{} K/W", number(46, 90))},
               {"set-spread", fmt::format("{:.1f} %", 0.1 * number(0, 40))}};
  if (out[0].text == "other")
    out.push_back({"source-voltage", fmt::format("{:.1f} V", 0.1 * number(75, 250))});
  if (number(0, 2) == 0) out.push_back({"source-current", fmt::format("{} mA", number(50, 900))});
  if (number(0, 3) == 0) out.push_back({"board-most", fmt::format("{:.1f} V", 0.1 * number(54, 90))});
  return out;
}

Asked with(Asked asked, std::string key, std::string text) {
  std::erase_if(asked, [&](const Given& one) { return one.key == key; });
  asked.push_back({std::move(key), std::move(text)});
  return asked;
}

const Figure* figure_of(const Answer& answer, std::string_view key) {
  const auto at = std::find_if(answer.figures.begin(), answer.figures.end(),
                               [&](const Figure& figure) { return figure.key == key; });
  return at == answer.figures.end() ? nullptr : &*at;
}

std::string text_of(const Figure& figure) { return show_value(figure.value, figure.kind, figure.digits); }

// The limits that move with the set point, all inside in the worst case; else which is not.
std::string outside(const Asked& asked, std::initializer_list<std::string_view> keys) {
  const auto planned = plan(*find_subject("supply"), asked);
  if (!planned) return planned.error().text();
  for (const Limit& limit : planned->answer.limits) {
    if (std::find(keys.begin(), keys.end(), limit.key) == keys.end()) continue;
    // Below the most that the board's regulator may need, the pin is held against the need as planned.
    const bool as_planned = limit.key == "pin" && limit.bound < 4.69;
    const bool worst = limit.key == "fuse-source" || (limit.label.ends_with(", worst case") && !as_planned);
    if (!worst || limit.margin() < 0)
      return fmt::format("{}: {} against {}", limit.label, limit.value, limit.bound);
  }
  return {};
}

std::string outside(const Asked& asked) {
  return outside(asked, {"pin", "pin-most", "linear-junction", "buck-junction", "regulator-input",
                         "source-current", "fuse-source"});
}

std::string words_of(const Asked& asked) {
  std::string out;
  for (const Given& one : asked) out += fmt::format("--{} \"{}\" ", one.key, one.text);
  return out;
}

TEST(SupplyRange, BothEndsAsToldHoldAndJustBeyondThemNothingDoes) {
  std::mt19937_64 random(20'260'301);
  int ranges = 0;
  std::map<std::string, int> ended_by;
  for (int i = 0; i < kPlans; ++i) {
    const Asked asked = drawn_plan(random);
    // Whatever it is set to: the range is the same.
    const auto first = plan(*find_subject("supply"), asked);
    if (!first) continue;
    const Figure* least = figure_of(first->answer, "set-least");
    if (least == nullptr) continue;
    SCOPED_TRACE(words_of(asked));
    ++ranges;
    const Figure& most = first->answer.figure("set-most");
    const Figure& best = first->answer.figure("set-best");
    ++ended_by[most.note];
    for (const Figure* figure : {least, &most, &best})
      EXPECT_EQ(outside(with(asked, "set-point", text_of(*figure))), "") << figure->key << text_of(*figure);
    EXPECT_NE(outside(with(asked, "set-point", fmt::format("{:.3f} V", least->value - 0.021))), "");
    EXPECT_NE(outside(with(asked, "set-point", fmt::format("{:.3f} V", most.value + 0.021))), "");
  }
  // The plans are such that this is no empty claim: several, and not all ended by the same limit.
  EXPECT_GE(ranges, 60);
  EXPECT_GE(ended_by.size(), 3U);
}

TEST(SupplyRange, TheLongestWireAsToldHolds) {
  std::mt19937_64 random(20'260'302);
  int wires = 0;
  for (int i = 0; i < kPlans; ++i) {
    const Asked asked = drawn_plan(random);
    const auto first = plan(*find_subject("supply"), asked);
    if (!first) continue;
    const Figure* longest = figure_of(first->answer, "longest");
    if (longest == nullptr || longest->value < 0.01 || longest->value > 90) continue;
    SCOPED_TRACE(words_of(asked));
    ++wires;
    EXPECT_EQ(outside(with(asked, "length", text_of(*longest)), {"pin"}), "") << text_of(*longest);
    EXPECT_NE(outside(with(asked, "length", fmt::format("{:.5f} m", longest->value * 1.022)), {"pin"}), "");
  }
  EXPECT_GE(wires, 60);
}

std::string between(const std::string& text, std::string_view before, std::string_view after) {
  const std::size_t at = text.find(before);
  if (at == std::string::npos) return {};
  const std::size_t begin = at + before.size();
  return text.substr(begin, text.find(after, begin) - begin);
}

// The ways that the pin's limit names: each by itself mends the pin.
TEST(SupplyRange, WhatTheRemedyNamesHolds) {
  std::mt19937_64 random(20'260'303);
  int set = 0;
  int thicker = 0;
  int shorter = 0;
  for (int i = 0; i < kPlans; ++i) {
    const Asked asked = with(drawn_plan(random), "set-point", i % 2 == 0 ? "5.0 V" : "5.2 V");
    const auto first = plan(*find_subject("supply"), asked);
    if (!first) continue;
    const Limit& pin = first->answer.limit("pin");
    if (pin.verdict == Verdict::holds) continue;
    SCOPED_TRACE(words_of(asked) + pin.remedy);
    std::string remedy =
        pin.remedy.substr(pin.remedy.starts_with("In the worst case") ? pin.remedy.find(". ") + 2 : 0);
    remedy[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(remedy[0])));
    const std::string size = between(remedy, "take ", " or more for this length");
    if (remedy.starts_with("set the regulator to ")) {
      ++set;
      EXPECT_EQ(outside(with(asked, "set-point", between(remedy, "set the regulator to ", " (from"))), "");
    }
    if (!size.empty()) {
      ++thicker;
      Asked other = with(asked, "size", size);
      const std::size_t at = remedy.find(" and set the regulator to ");
      if (at != std::string::npos) {
        const std::string rest = remedy.substr(at + 26);
        other = with(other, "set-point", rest.substr(0, rest.find(" V") + 2));
      }
      EXPECT_EQ(outside(other, {"pin"}), "") << size;
    }
    const std::string length = between(remedy, "shorten this wire to ", "m");
    if (!length.empty()) {
      ++shorter;
      const bool milli = remedy.find("shorten this wire to " + length + "mm") != std::string::npos;
      EXPECT_EQ(outside(with(asked, "length", length + (milli ? "mm" : "m")), {"pin"}), "") << length;
    }
  }
  EXPECT_GE(set, 10);
  EXPECT_GE(thicker, 10);
  EXPECT_GE(shorter, 10);
}

}  // namespace
}  // namespace rookery::plan
