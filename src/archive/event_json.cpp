#include "archive/event_json.h"

namespace rookery::archive {

boost::json::object event_json(const Event& event) {
  boost::json::object out{{"id", event.id},
                          {"camera", event.camera.text()},
                          {"cause", name_of(event.cause)},
                          {"start", base::to_rfc3339(event.start)},
                          {"end", nullptr},
                          {"peak", event.peak},
                          {"region", boost::json::object{{"x", event.region.x},
                                                         {"y", event.region.y},
                                                         {"w", event.region.width},
                                                         {"h", event.region.height}}},
                          {"where", vision::words_for(event.region)},
                          {"best_at", base::to_rfc3339(event.best_at)},
                          {"kept", event.kept},
                          {"detail", event.detail},
                          {"job", nullptr},
                          {"still", event.has_still}};
  if (event.job) out["job"] = *event.job;
  if (!event.under_way) out["end"] = base::to_rfc3339(event.end);
  return out;
}

}  // namespace rookery::archive
