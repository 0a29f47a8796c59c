// The counters of cameras in the OpenMetrics 1.0 text format.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "station/station.h"

namespace rookery::web {

// What belongs to the station as a whole.
struct StationCounters {
  archive::Catalog::LateCounters catalog;
  archive::LateFlushes flushes;
};

// Ends with "# EOF". Counters count since the station started. `own`: the station's, for those who may know.
std::string metrics_text(std::span<const station::CameraView> cameras,
                         const std::optional<StationCounters>& own);

}  // namespace rookery::web
