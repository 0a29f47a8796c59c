#include "camera/status.h"

#include <numeric>

namespace rookery::camera {

std::string_view name_of(State state) {
  switch (state) {
    case State::off:
      return "off";
    case State::connecting:
      return "connecting";
    case State::live:
      return "live";
    case State::silent:
      return "silent";
    case State::waiting:
      return "waiting";
    case State::asleep:
      return "asleep";
  }
  return "off";
}

std::uint64_t Counters::rejected_total() const {
  return std::accumulate(rejected.begin(), rejected.end(), rejected_parts);
}

}  // namespace rookery::camera
