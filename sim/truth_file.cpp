#include "sim/truth_file.h"

#include <ostream>

namespace rookery::sim {
namespace {

std::string numbers_of(Region r) { return fmt::format("{},{},{},{}", r.x, r.y, r.width, r.height); }

std::string line_of(std::string_view camera, const TruthEvent& event) {
  std::string line = fmt::format(R"({{"camera":"{}","kind":"{}","what":"{}","start":"{}","end":"{}")", camera,
                                 name_of(event.kind), event.what, base::to_rfc3339(event.start),
                                 base::to_rfc3339(event.end));
  if (event.strength != 0) line += fmt::format(R"(,"strength":{})", event.strength);
  if (event.region.width > 0) line += fmt::format(R"(,"box":[{}])", numbers_of(event.region));
  if (!event.track.empty()) {
    line += R"(,"track":[)";
    for (std::size_t i = 0; i < event.track.size(); ++i) {
      line += fmt::format(R"({}["{}",{}])", i == 0 ? "" : ",", base::to_rfc3339(event.track[i].at),
                          numbers_of(event.track[i].region));
    }
    line += ']';
  }
  return line + '}';
}

}  // namespace

void write_truth(std::ostream& out, std::string_view camera, const std::vector<TruthEvent>& events) {
  for (const TruthEvent& event : events) out << line_of(camera, event) << '\n';
}

}  // namespace rookery::sim
