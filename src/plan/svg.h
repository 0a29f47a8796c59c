// Drawings to scale or by scheme, as SVG. Colours are the page's own custom properties with a fallback for
// paper, as presentation attributes, so that a drawing shows alike in the page (whose policy allows no inline
// style), in a file of its own and in print.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace rookery::plan {

// What a stroke or a filling means; how it looks is in svg.cpp.
enum class Ink {
  line,    // outlines and text
  soft,    // helping lines, measures
  trace,   // what the drawing is about
  accent,  // look here
  wash,    // a light filling behind the trace
  paper,   // the ground
  none,
};

struct Point {
  double x = 0;
  double y = 0;
};

enum class Anchor { start, middle, end };

class Svg {
 public:
  // Width and height in px of the drawing's own grid; `title` says to those who do not see it what it shows.
  Svg(double width, double height, std::string_view title);

  Svg& line(Point from, Point to, Ink ink, double thickness = 1.5, bool dashed = false);
  Svg& rect(Point corner, double width, double height, Ink stroke, Ink fill = Ink::none, double radius = 0);
  Svg& circle(Point middle, double radius, Ink stroke, Ink fill = Ink::none);
  Svg& polyline(const std::vector<Point>& points, Ink stroke, double thickness = 2);
  // A line in a colour of its own ("#b3261e"), where the colour itself is what is meant: a wire's jacket.
  Svg& coloured(const std::vector<Point>& points, std::string_view colour, double thickness,
                bool dashed = false);
  Svg& polygon(const std::vector<Point>& points, Ink stroke, Ink fill);
  Svg& text(Point at, std::string_view words, Anchor anchor = Anchor::start, double size = 13,
            Ink ink = Ink::line);
  // A line with a short bar at each end and its words in the middle, above it (beside it when it stands
  // upright).
  Svg& measure(Point from, Point to, std::string_view words);

  // The whole element, <svg …>…</svg>.
  std::string done() const;

 private:
  std::string head_;
  std::string body_;
};

}  // namespace rookery::plan
