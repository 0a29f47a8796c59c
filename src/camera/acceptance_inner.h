// Inner: what the judges of the acceptance test have in common, and those of what the board is asked for and
// told to do. For acceptance.cpp and acceptance_asks.cpp only.
#pragma once

#include <string>
#include <string_view>

#include "camera/acceptance.h"

namespace rookery::camera::acceptance_inner {

inline constexpr double kPercent = 100;

Finding judged(Heading heading, double value, std::string evidence);
// What no number says.
Finding unfit(Heading heading, std::string evidence);
Finding not_measured(Heading heading, std::string why);
// "1 picture", "3 pictures".
std::string count_of(std::uint64_t number, std::string_view what);

Finding still(const Measurements& m);
Finding still_age(const Measurements& m);
Finding second_viewer(const Measurements& m);
Finding lamp(const Measurements& m);
Finding sizes(const Measurements& m);

}  // namespace rookery::camera::acceptance_inner
