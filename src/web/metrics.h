// The counters of cameras in the OpenMetrics 1.0 text format.
#pragma once

#include <span>
#include <string>

#include "station/station.h"

namespace rookery::web {

// Ends with "# EOF". Counters count since the station started.
std::string metrics_text(std::span<const station::CameraView> cameras);

}  // namespace rookery::web
