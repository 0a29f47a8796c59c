// The truth of a run as text, for scoring detectors against it: docs/formats/truth.md.
#pragma once

#include <iosfwd>
#include <string_view>
#include <vector>

#include "sim/types.h"

namespace rookery::sim {

// One JSON object a line for each event. `camera`: a name without quotes or backslashes, as all of ours are.
void write_truth(std::ostream& out, std::string_view camera, const std::vector<TruthEvent>& events);

}  // namespace rookery::sim
