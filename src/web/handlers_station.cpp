#include "web/answers.h"
#include "web/handlers.h"
#include "web/metrics.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;

extern const unsigned char kOpenapiBytes[];
extern const std::size_t kOpenapiSize;

std::string_view openapi_text() { return {reinterpret_cast<const char*>(kOpenapiBytes), kOpenapiSize}; }

Response get_health(Call&) { return json_answer({{"status", "ok"}}); }

Response get_openapi(Call&) {
  Response response;
  response.set("Content-Type", "application/openapi+json;version=3.1");
  response.set("Cache-Control", "no-store");
  response.body = std::string(openapi_text());
  return response;
}

Response get_station(Call& call) {
  station::Station& station = call.station();
  std::uint64_t bytes = 0;
  std::size_t viewers = 0;
  std::optional<base::WallTime> oldest;
  for (const station::CameraView& view : station.cameras()) {
    if (!call.caller.may_see(view.settings.name)) continue;
    viewers += view.viewers;
    bytes += station.segments().bytes_of(view.settings.name).value_or(0);
    auto first = station.segments().first_from(view.settings.name, base::WallTime{});
    if (first && *first && (!oldest || (*first)->start < *oldest)) oldest = (*first)->start;
  }
  std::error_code error;
  const auto space = std::filesystem::space(station.catalog().home(), error);
  json::object archive{{"bytes", bytes},
                       {"free_bytes", error ? 0 : space.available},
                       {"keep_free_bytes", station.keep_free_bytes()},
                       {"oldest", nullptr}};
  if (oldest) archive["oldest"] = base::to_rfc3339(*oldest);
  return json_answer({{"version", ROOKERY_VERSION},
                      {"started_at", base::to_rfc3339(station.started_at())},
                      {"now", base::to_rfc3339(call.services.wall())},
                      {"archive", std::move(archive)},
                      {"viewers", viewers}});
}

Response get_metrics(Call& call) {
  std::vector<station::CameraView> seen;
  for (station::CameraView& view : call.station().cameras()) {
    if (call.caller.may_see(view.settings.name)) seen.push_back(std::move(view));
  }
  Response response;
  response.set("Content-Type", "application/openmetrics-text; version=1.0.0; charset=utf-8");
  response.set("Cache-Control", "no-store");
  response.body = metrics_text(seen);
  return response;
}

}  // namespace rookery::web
