// Inner: small graphs as SVG text for a printed page. For prove_report.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "camera/measurements.h"

namespace rookery::station {

// Values over the time of the test; where there are more than the graph has columns, a column shows the range
// of its values. until_s: where time ends. limit: a line across, none at 0. Empty without points.
std::string svg_over_time(std::string_view title, std::string_view unit,
                          const std::vector<camera::SeriesPoint>& points, double until_s, double limit = 0);

// How often which value occurred: bars of equal width from 0 to the 99.5th percentile, the last one also for
// what is beyond. Empty without points.
std::string svg_histogram(std::string_view title, std::string_view unit,
                          const std::vector<camera::SeriesPoint>& points);

}  // namespace rookery::station
