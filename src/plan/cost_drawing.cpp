// Where the money goes: a bar for each part, largest first.
#include <algorithm>

#include <fmt/format.h>

#include "base/printable.h"
#include "plan/cost_plan.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr std::size_t kMostBars = 12;
constexpr double kLeft = 190;
constexpr double kEdge = 10;
constexpr double kWidth = 200;
constexpr double kRow = 24;

struct Bar {
  std::string name;
  double cost = 0;
  bool shared = false;
};

std::vector<Bar> bars_of(const CostPlan& plan) {
  std::vector<Bar> bars;
  for (const Part& part : plan.list.parts)
    bars.push_back({part.name, cost_of(part, plan.fleet).cost, part.cameras != 1});
  std::stable_sort(bars.begin(), bars.end(), [](const Bar& a, const Bar& b) { return a.cost > b.cost; });
  if (bars.size() > kMostBars) {
    Bar rest{fmt::format("{} others", bars.size() - kMostBars + 1), 0, false};
    for (std::size_t i = kMostBars - 1; i < bars.size(); ++i) rest.cost += bars[i].cost;
    bars.resize(kMostBars - 1);
    bars.push_back(rest);
  }
  return bars;
}

// Characters of UTF-8 at the front of `text`, in bytes.
std::size_t front_bytes(std::string_view text) {
  std::size_t bytes = 1;
  while (bytes < text.size() && (static_cast<unsigned char>(text[bytes]) & 0xc0U) == 0x80U) ++bytes;
  return bytes;
}

// What a text takes at most, in px, in whatever font the page or a printer has: measured on the widest of the
// letters of the fonts that the page and the sheet name (an M is nine tenths of its size), rounded up.
double width_px(std::string_view text, double size) {
  double em = 0;
  while (!text.empty()) {
    const std::size_t bytes = front_bytes(text);
    const char c = text.front();
    if (bytes > 1) {
      em += bytes == 2 ? 0.8 : 1.1;
    } else if (std::string_view("MW@%&mw").find(c) != std::string_view::npos) {
      em += 1.0;
    } else if (c >= 'A' && c <= 'Z') {
      em += 0.8;
    } else if (std::string_view(" .,:;'|il").find(c) != std::string_view::npos) {
      em += 0.36;
    } else {
      em += 0.62;
    }
    text.remove_prefix(bytes);
  }
  return em * size;
}

// As much of a text as fits, with … where more was.
std::string fitted(std::string_view text, double room_px, double size) {
  if (width_px(text, size) <= room_px) return std::string(text);
  std::string out;
  while (width_px(out + std::string(text.substr(0, front_bytes(text))) + "…", size) <= room_px) {
    out += text.substr(0, front_bytes(text));
    text.remove_prefix(front_bytes(text));
  }
  return out + "…";
}

std::string amount_words(const CostPlan& plan, const Bar& bar, double total) {
  if (total <= 0) return plan.amount(bar.cost);
  return fmt::format("{} · {}", plan.amount(bar.cost), show_value(bar.cost / total, Kind::ratio, 2));
}

}  // namespace

std::string cost_drawing(const CostPlan& plan) {
  const std::vector<Bar> bars = bars_of(plan);
  const double total = plan.total();
  const double longest = std::max_element(bars.begin(), bars.end(), [](const Bar& a, const Bar& b) {
                           return a.cost < b.cost;
                         })->cost;
  const std::string head = fmt::format("{} for {} camera{}", plan.amount(total), plan.fleet.cameras,
                                       plan.fleet.cameras == 1 ? "" : "s") +
                           (plan.fleet.spares > 0 ? fmt::format(" and {} spare", plan.fleet.spares) : "");
  // Amounts may have many digits: the drawing grows with them.
  double right = std::max(560 - kEdge, kEdge + width_px(head, 14));
  for (const Bar& bar : bars)
    right = std::max(right, kLeft + kWidth + 8 + width_px(amount_words(plan, bar, total), 12));
  Svg svg(right + kEdge, 62 + kRow * static_cast<double>(bars.size()),
          fmt::format("Shares of {}: {} first", plan.amount(total), base::printable(bars.front().name)));
  svg.text({kEdge, 22}, head, Anchor::start, 14, Ink::trace);
  double y = 38;
  for (const Bar& bar : bars) {
    svg.text({kLeft - 8, y + 15}, fitted(bar.name, kLeft - 8 - kEdge, 12), Anchor::end, 12);
    const double width = longest > 0 ? kWidth * bar.cost / longest : 0;
    svg.rect({kLeft, y + 2}, std::max(width, 1.0), kRow - 6, Ink::trace, bar.shared ? Ink::paper : Ink::wash);
    svg.text({kLeft + width + 8, y + 15}, amount_words(plan, bar, total), Anchor::start, 12, Ink::soft);
    y += kRow;
  }
  svg.text({kLeft, y + 14}, "filled: in each camera; empty: serves several", Anchor::start, 11, Ink::soft);
  return svg.done();
}

}  // namespace rookery::plan
