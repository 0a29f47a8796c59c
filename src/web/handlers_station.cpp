#include "web/answers.h"
#include "web/handlers.h"
#include "web/metrics.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;

extern const unsigned char kOpenapiBytes[];
extern const std::size_t kOpenapiSize;

std::string_view openapi_text() { return {reinterpret_cast<const char*>(kOpenapiBytes), kOpenapiSize}; }

namespace {

json::object late_json(const archive::Catalog::LateCounters& late) {
  return {{"written", late.committed},
          {"replaced", late.replaced},
          {"given_up", late.given_up},
          {"waiting", late.waiting}};
}

json::object flushes_json(const archive::LateFlushes& late) {
  return {{"late", late.flushes}, {"longest_ms", late.longest.count()}};
}

}  // namespace

Response get_health(Call&) { return json_answer({{"status", "ok"}}); }

Response get_openapi(Call&) {
  Response response;
  response.set("Content-Type", "application/openapi+json;version=3.1");
  response.set("Cache-Control", "no-store");
  response.body = std::string(openapi_text());
  return response;
}

namespace {

// For owners: they hold paths, and only an owner can do something about them.
json::array troubles_json(const Call& call) {
  json::array troubles;
  if (!call.caller.is_owner()) return troubles;
  for (const station::Trouble& trouble : call.station().troubles()) {
    troubles.push_back({{"kind", trouble.kind}, {"detail", trouble.detail}, {"remedy", trouble.remedy}});
  }
  return troubles;
}

}  // namespace

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
  archive["ages_count_by"] = nullptr;
  if (const auto age = station.age()) archive["ages_count_by"] = base::to_rfc3339(age->now());
  return json_answer(
      {{"version", ROOKERY_VERSION},
       {"started_at", base::to_rfc3339(station.started_at())},
       {"now", base::to_rfc3339(call.services.wall())},
       {"archive", std::move(archive)},
       {"catalog", late_json(station.catalog().late_counters())},
       {"flushes", flushes_json(station.late_flushes())},
       {"exports",
        {{"bytes", station.exports().bytes()}, {"most_bytes", station.exports().limits().most_bytes}}},
       {"viewers", viewers},
       {"troubles", troubles_json(call)}});
}

Response post_confirm_clock(Call& call) {
  if (auto confirmed = call.station().confirm_clock(); !confirmed) return problem(confirmed.error());
  return nothing_to_say();
}

Response get_metrics(Call& call) {
  std::vector<station::CameraView> seen;
  for (station::CameraView& view : call.station().cameras()) {
    if (call.caller.may_see(view.settings.name)) seen.push_back(std::move(view));
  }
  Response response;
  response.set("Content-Type", "application/openmetrics-text; version=1.0.0; charset=utf-8");
  response.set("Cache-Control", "no-store");
  // What belongs to no camera is for owners; a token opens its own camera's counters.
  std::optional<StationCounters> own;
  if (call.caller.is_owner()) own = {call.station().catalog().late_counters(), call.station().late_flushes()};
  response.body = metrics_text(seen, own);
  return response;
}

}  // namespace rookery::web
