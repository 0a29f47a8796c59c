// How the station looks for boards; the defaults are what a person gets, tests shorten them.
#pragma once

#include <chrono>

namespace rookery::station {

struct FindingOptions {
  std::chrono::milliseconds look{5'000};           // at the cameras: what is learned, what has to be followed
  std::chrono::milliseconds warm{60'000};          // the finder goes on for so long after the last who asked
  std::chrono::milliseconds follow_after{20'000};  // without pictures. A board starts anew in under 10 s
};

}  // namespace rookery::station
