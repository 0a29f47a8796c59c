#include "plan/sheet_drawing.h"

#include <algorithm>
#include <array>

#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr double kBoardLeft = 400;
constexpr double kBoardRight = 540;
constexpr double kAdapterLeft = 680;

// The jackets' colours, dark enough to be seen on paper.
std::string_view hex_of(std::string_view colour) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 6> kColours = {
      {{"red", "#b3261e"},
       {"black", "#222222"},
       {"orange", "#c06a00"},
       {"yellow", "#a88b00"},
       {"green", "#2e7d32"},
       {"blue", "#1f4e9e"}}};
  const auto at =
      std::find_if(kColours.begin(), kColours.end(), [&](const auto& one) { return one.first == colour; });
  return at == kColours.end() ? "#222222" : at->second;
}

// Where each wire of a sheet runs; the letter sits on its middle.
struct Course {
  std::string_view letter;
  std::vector<Point> points;
  Point mark;
};

std::vector<Course> courses(bool regulator) {
  const double from = regulator ? 330 : 120;
  return {
      {"A", {{120, 70}, {210, 70}}, {165, 70}},
      {"B", {{120, 130}, {210, 130}}, {165, 130}},
      {"C", {{from, 70}, {kBoardLeft, 70}}, {(from + kBoardLeft) / 2, 70}},
      {"D", {{from, 130}, {kBoardLeft, 130}}, {(from + kBoardLeft) / 2, 130}},
      // Receive and transmit cross on the way.
      {"E", {{kAdapterLeft, 60}, {650, 60}, {570, 95}, {kBoardRight, 95}}, {630, 69}},
      {"F", {{kAdapterLeft, 95}, {650, 95}, {570, 60}, {kBoardRight, 60}}, {590, 69}},
      {"G", {{kAdapterLeft, 130}, {kBoardRight, 130}}, {610, 130}},
      {"H", {{430, 180}, {430, 215}, {510, 215}, {510, 180}}, {470, 215}},
  };
}

void box(Svg& svg, double left, double right, std::string_view title) {
  svg.rect({left, 30}, right - left, 150, Ink::line, Ink::none, 4);
  svg.text({(left + right) / 2, 20}, title, Anchor::middle, 13);
}

void pins(Svg& svg, bool fed, bool regulator) {
  if (fed) svg.text({112, 74}, "+", Anchor::end).text({112, 134}, "−", Anchor::end);
  if (regulator) {
    svg.text({218, 74}, "in +").text({218, 134}, "in −");
    svg.text({322, 74}, "out +", Anchor::end).text({322, 134}, "out −", Anchor::end);
  }
  svg.text({kBoardLeft + 8, 74}, "5 V").text({kBoardLeft + 8, 134}, "ground");
  svg.text({kBoardRight - 8, 64}, "receive", Anchor::end)
      .text({kBoardRight - 8, 99}, "transmit", Anchor::end);
  svg.text({kBoardRight - 8, 134}, "ground", Anchor::end);
  svg.text({438, 172}, "programming", Anchor::middle, 10).text({510, 172}, "ground", Anchor::middle, 10);
  svg.text({kAdapterLeft + 8, 64}, "transmit")
      .text({kAdapterLeft + 8, 99}, "receive")
      .text({kAdapterLeft + 8, 134}, "ground");
}

// Between wires C and D, close to the board: the full plate is +.
void capacitor(Svg& svg) {
  const double x = kBoardLeft - 14;
  svg.line({x, 70}, {x, 96}, Ink::line).line({x, 104}, {x, 130}, Ink::line);
  svg.line({x - 9, 96}, {x + 9, 96}, Ink::line, 3).line({x - 9, 104}, {x + 9, 104}, Ink::line, 1.5, true);
  svg.text({x - 12, 93}, "+", Anchor::end, 12).text({x - 12, 116}, "K", Anchor::end, 12);
}

}  // namespace

std::string wiring_drawing(const std::vector<SheetWire>& wires) {
  const auto is_there = [&](std::string_view letter) {
    return std::any_of(wires.begin(), wires.end(),
                       [&](const SheetWire& wire) { return wire.letter == letter; });
  };
  const bool regulator = is_there("A");
  const bool fed = is_there("C");
  Svg svg(790, 236, "Wiring: what feeds the board, and the serial adapter while firmware is loaded");
  if (fed) box(svg, 20, 120, regulator ? "Supply" : "Source");
  if (!fed) svg.text({70, 100}, "The supply is not in this plan", Anchor::start, 13, Ink::accent);
  if (regulator) box(svg, 210, 330, "Regulator");
  box(svg, kBoardLeft, kBoardRight, "Board");
  box(svg, kAdapterLeft, 770, "Serial adapter");
  for (const Course& course : courses(regulator)) {
    const auto wire = std::find_if(wires.begin(), wires.end(),
                                   [&](const SheetWire& one) { return one.letter == course.letter; });
    if (wire == wires.end()) continue;
    svg.coloured(course.points, hex_of(wire->colour), 3, wire->only_while_loading);
    svg.circle(course.mark, 9, Ink::line, Ink::paper);
    svg.text({course.mark.x, course.mark.y + 4}, wire->letter, Anchor::middle, 12);
  }
  if (fed && is_there("K")) capacitor(svg);
  pins(svg, fed, regulator);
  svg.text({20, 226}, "Dashed: only while firmware is loaded. Letters stand in the table.", Anchor::start, 11,
           Ink::soft);
  return svg.done();
}

}  // namespace rookery::plan
