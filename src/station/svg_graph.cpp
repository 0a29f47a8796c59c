#include "station/svg_graph.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/markup.h"

#include "camera/intervals.h"

namespace rookery::station {
namespace {

constexpr double kWidth = 640;
constexpr double kHeight = 150;
constexpr double kLeft = 78;  // room for numbers
constexpr double kBottom = 30;
constexpr double kTop = 14;
constexpr int kColumns = 280;
constexpr int kBars = 40;

// The least of 1, 2, 5 times a power of ten that is not below `value`.
double round_up(double value) {
  if (!(value > 0)) return 1;
  const double power = std::pow(10.0, std::floor(std::log10(value)));
  for (const double step : {1.0, 2.0, 5.0, 10.0}) {
    if (step * power >= value * (1 - 1e-9)) return step * power;
  }
  return 10 * power;
}

struct Frame {
  double most_x = 1;
  double most_y = 1;
  double x(double value) const { return kLeft + (kWidth - kLeft) * value / most_x; }
  double y(double value) const {
    return kHeight - kBottom - (kHeight - kBottom - kTop) * std::min(value / most_y, 1.0);
  }
};

std::string opening(std::string_view name, std::string_view unit) {
  const std::string title = unit.empty() ? std::string(name) : fmt::format("{}, {}", name, unit);
  return fmt::format(
      "<figure class=\"graph\"><figcaption>{0}</figcaption><svg viewBox=\"0 0 {1} {2}\" role=\"img\" "
      "aria-label=\"{0}\">",
      base::escaped(title), kWidth, kHeight);
}

std::string axes(const Frame& frame, std::string_view unit_x) {
  std::string svg;
  for (const double part : {0.0, 0.5, 1.0}) {
    const double y = frame.y(part * frame.most_y);
    svg += fmt::format("<line class=\"rule\" x1=\"{}\" x2=\"{}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/>", kLeft,
                       kWidth, y, y);
    svg += fmt::format("<text x=\"{}\" y=\"{:.1f}\" text-anchor=\"end\">{:g}</text>", kLeft - 6, y + 5,
                       part * frame.most_y);
    svg += fmt::format("<text x=\"{:.1f}\" y=\"{}\" text-anchor=\"{}\">{:.3g}{}</text>",
                       frame.x(part * frame.most_x), kHeight - 6,
                       part == 0.0   ? "start"
                       : part == 1.0 ? "end"
                                     : "middle",
                       part * frame.most_x,
                       part == 1.0 ? fmt::format(" {}", base::escaped(unit_x)) : std::string());
  }
  return svg;
}

}  // namespace

std::string svg_over_time(std::string_view title, std::string_view unit,
                          const std::vector<camera::SeriesPoint>& points, double until_s, double limit) {
  if (points.empty()) return {};
  struct Column {
    double least = 0, most = 0;
    bool any = false;
  };
  std::vector<Column> columns(kColumns);
  Frame frame;
  frame.most_x = until_s;
  double most = 0;
  for (const camera::SeriesPoint& point : points) {
    const auto at = static_cast<std::size_t>(
        std::clamp(point.at_s / frame.most_x * kColumns, 0.0, static_cast<double>(kColumns - 1)));
    Column& column = columns[at];
    column.least = column.any ? std::min(column.least, point.value) : point.value;
    column.most = column.any ? std::max(column.most, point.value) : point.value;
    column.any = true;
    most = std::max(most, point.value);
  }
  frame.most_y = round_up(most);
  std::string svg = opening(title, unit) + axes(frame, "s");
  if (limit > 0 && limit <= frame.most_y) {
    svg += fmt::format("<line class=\"limit\" x1=\"{}\" x2=\"{}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/>", kLeft,
                       kWidth, frame.y(limit), frame.y(limit));
  }
  std::string path;
  for (int i = 0; i < kColumns; ++i) {
    const Column& column = columns[static_cast<std::size_t>(i)];
    if (!column.any) continue;
    const double x = frame.x((i + 0.5) / kColumns * frame.most_x);
    path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? 'M' : 'L', x, frame.y(column.most));
    if (column.least < column.most) path += fmt::format("L{:.1f} {:.1f}", x, frame.y(column.least));
  }
  return svg + fmt::format("<path class=\"trace\" d=\"{}\"/></svg></figure>", path);
}

std::string svg_histogram(std::string_view title, std::string_view unit,
                          const std::vector<camera::SeriesPoint>& points) {
  if (points.empty()) return {};
  std::vector<double> values;
  values.reserve(points.size());
  for (const camera::SeriesPoint& point : points) values.push_back(point.value);
  Frame frame;
  frame.most_x = round_up(camera::percentile(values, 0.995));
  std::vector<std::size_t> bars(kBars, 0);
  for (const double value : values) {
    const double at = value / frame.most_x * kBars;
    ++bars[static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(kBars - 1)))];
  }
  frame.most_y = round_up(static_cast<double>(*std::max_element(bars.begin(), bars.end())));
  std::string svg = opening(title, "times") + axes(frame, unit);
  const double wide = (kWidth - kLeft) / kBars;
  for (int i = 0; i < kBars; ++i) {
    const auto count = static_cast<double>(bars[static_cast<std::size_t>(i)]);
    if (count == 0) continue;
    svg += fmt::format("<rect class=\"bar\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>",
                       kLeft + i * wide + 0.5, frame.y(count), wide - 1, frame.y(0) - frame.y(count));
  }
  return svg + "</svg></figure>";
}

}  // namespace rookery::station
