#include "plan/svg.h"

#include <cmath>

#include <fmt/format.h>

#include "base/markup.h"

namespace rookery::plan {
namespace {

// The page's own colours (page/src/style), else ink on paper.
std::string_view colour_of(Ink ink) {
  switch (ink) {
    case Ink::line:
      return "var(--ink, #1e2434)";
    case Ink::soft:
      return "var(--muted, #5d5748)";
    case Ink::trace:
      return "var(--trace, #27428f)";
    case Ink::accent:
      return "var(--amber, #965000)";
    case Ink::wash:
      return "var(--trace-wash, #e6e9f2)";
    case Ink::paper:
      return "var(--sheet, #ffffff)";
    case Ink::none:
      return "none";
  }
  return "none";
}

// To a tenth of a unit, without needless zeros; what is no number stays out of the drawing's grammar.
std::string px(double value) {
  if (!std::isfinite(value)) return "0";
  std::string out = fmt::format("{:.1f}", value);
  if (out.ends_with(".0")) out.resize(out.size() - 2);
  return out == "-0" ? "0" : out;
}

std::string points_of(const std::vector<Point>& points) {
  std::string out;
  for (const Point& point : points)
    out += fmt::format("{}{},{}", out.empty() ? "" : " ", px(point.x), px(point.y));
  return out;
}

}  // namespace

Svg::Svg(double width, double height, std::string_view title)
    : head_(fmt::format("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" "
                        "font-family=\"inherit\"><title>{}</title>",
                        px(width), px(height), base::escaped(title))) {}

Svg& Svg::line(Point from, Point to, Ink ink, double thickness, bool dashed) {
  body_ += fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"{}\" stroke-width=\"{}\"{}/>",
                       px(from.x), px(from.y), px(to.x), px(to.y), colour_of(ink), px(thickness),
                       dashed ? " stroke-dasharray=\"5 4\"" : "");
  return *this;
}

Svg& Svg::rect(Point corner, double width, double height, Ink stroke, Ink fill, double radius) {
  body_ += fmt::format(
      "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\" stroke=\"{}\" stroke-width=\"1.5\" "
      "fill=\"{}\"/>",
      px(corner.x), px(corner.y), px(width), px(height), px(radius), colour_of(stroke), colour_of(fill));
  return *this;
}

Svg& Svg::circle(Point middle, double radius, Ink stroke, Ink fill) {
  body_ +=
      fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" stroke=\"{}\" stroke-width=\"1.5\" fill=\"{}\"/>",
                  px(middle.x), px(middle.y), px(radius), colour_of(stroke), colour_of(fill));
  return *this;
}

Svg& Svg::polyline(const std::vector<Point>& points, Ink stroke, double thickness) {
  body_ += fmt::format("<polyline points=\"{}\" stroke=\"{}\" stroke-width=\"{}\" fill=\"none\"/>",
                       points_of(points), colour_of(stroke), px(thickness));
  return *this;
}

Svg& Svg::coloured(const std::vector<Point>& points, std::string_view colour, double thickness, bool dashed) {
  body_ += fmt::format("<polyline points=\"{}\" stroke=\"{}\" stroke-width=\"{}\" fill=\"none\"{}/>",
                       points_of(points), base::escaped(colour), px(thickness),
                       dashed ? " stroke-dasharray=\"6 4\"" : "");
  return *this;
}

Svg& Svg::polygon(const std::vector<Point>& points, Ink stroke, Ink fill) {
  body_ += fmt::format("<polygon points=\"{}\" stroke=\"{}\" stroke-width=\"1.5\" fill=\"{}\"/>",
                       points_of(points), colour_of(stroke), colour_of(fill));
  return *this;
}

Svg& Svg::text(Point at, std::string_view words, Anchor anchor, double size, Ink ink) {
  constexpr std::string_view kAnchors[] = {"start", "middle", "end"};
  body_ += fmt::format("<text x=\"{}\" y=\"{}\" text-anchor=\"{}\" font-size=\"{}\" fill=\"{}\">{}</text>",
                       px(at.x), px(at.y), kAnchors[static_cast<int>(anchor)], px(size), colour_of(ink),
                       base::escaped(words));
  return *this;
}

Svg& Svg::measure(Point from, Point to, std::string_view words) {
  const double length = std::hypot(to.x - from.x, to.y - from.y);
  if (length == 0) return *this;
  const Point across{-(to.y - from.y) / length * 5, (to.x - from.x) / length * 5};
  line(from, to, Ink::soft, 1);
  for (const Point& end : {from, to}) {
    line({end.x - across.x, end.y - across.y}, {end.x + across.x, end.y + across.y}, Ink::soft, 1);
  }
  const bool upright = std::abs(to.y - from.y) > std::abs(to.x - from.x);
  const Point middle{(from.x + to.x) / 2, (from.y + to.y) / 2};
  if (upright) return text({middle.x + 8, middle.y + 4}, words, Anchor::start, 12, Ink::soft);
  return text({middle.x, middle.y - 6}, words, Anchor::middle, 12, Ink::soft);
}

std::string Svg::done() const { return head_ + body_ + "</svg>"; }

}  // namespace rookery::plan
