#include "web/answers.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
namespace {

using camera::Vitals;

struct Column {
  std::string_view name;
  double (*value)(const Vitals&);
};

constexpr Column kColumns[] = {
    {"live", [](const Vitals& v) { return v.live; }},
    {"frames_per_s", [](const Vitals& v) { return v.frames_per_s; }},
    {"longest_gap_s", [](const Vitals& v) { return v.longest_gap_s; }},
    {"jitter_s", [](const Vitals& v) { return v.jitter_s; }},
    {"broken", [](const Vitals& v) { return v.broken; }},
    {"connects", [](const Vitals& v) { return v.connects; }},
    {"dropouts", [](const Vitals& v) { return v.dropouts; }},
};

// Four digits: more were not measured, and a year of them would be a long text.
double rounded(double value) {
  if (value == 0) return 0;
  const double scale = std::pow(10, 3 - std::floor(std::log10(std::abs(value))));
  return std::round(value * scale) / scale;
}

json::object json_of(const archive::VitalsSeries& series) {
  json::object out{{"from", base::to_rfc3339(series.from)}, {"step_s", series.step.count()}};
  for (const Column& column : kColumns) {
    json::array values;
    for (const auto& step : series.steps)
      values.push_back(step ? json::value(rounded(column.value(*step))) : json::value(nullptr));
    out[column.name] = std::move(values);
  }
  // Of these two there may be nothing to say although the camera was watched.
  json::array bytes;
  json::array light;
  for (const auto& step : series.steps) {
    const bool any = step && step->bytes_a_frame > 0;
    bytes.push_back(any ? json::value(rounded(step->bytes_a_frame)) : json::value(nullptr));
    light.push_back(step && step->light ? json::value(rounded(*step->light)) : json::value(nullptr));
  }
  out["bytes_a_frame"] = std::move(bytes);
  out["light"] = std::move(light);
  return out;
}

}  // namespace

Response get_vitals(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto span = span_of(call.request, archive::VitalsStore::kKeptFor + std::chrono::days{1});
  if (!span) return problem(span.error());
  auto series = call.station().vitals().between(*name, span->from, span->to);
  if (!series) return problem(series.error());
  return json_answer(json_of(*series));
}

}  // namespace rookery::web
