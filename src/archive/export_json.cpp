#include "archive/export_json.h"

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

namespace rookery::archive {
namespace {

namespace json = boost::json;
using base::Error;
using base::ErrorCode;
using base::Result;

json::object ask_of(const LapseRequest& lapse) {
  return {{"format", name_of(lapse.format)},    {"length_s", lapse.length_s}, {"speed", lapse.speed},
          {"frames_per_s", lapse.frames_per_s}, {"width_px", lapse.width_px}, {"card", lapse.card},
          {"lit_only", lapse.lit_only},         {"clock", lapse.clock}};
}

LapseRequest lapse_of(const json::object& from, const std::string& camera) {
  LapseRequest lapse;
  lapse.what = camera;
  const auto format = parse_film_format(std::string_view(from.at("format").as_string()));
  if (!format) throw std::runtime_error(format.error().text());
  lapse.format = *format;
  lapse.length_s = from.at("length_s").to_number<double>();
  lapse.speed = from.at("speed").to_number<double>();
  lapse.frames_per_s = from.at("frames_per_s").to_number<int>();
  lapse.width_px = from.at("width_px").to_number<int>();
  lapse.card = std::string(from.at("card").as_string());
  lapse.lit_only = from.at("lit_only").as_bool();
  lapse.clock = from.at("clock").as_bool();
  return lapse;
}

json::object outcome_of(const ExportResult& result) {
  return {{"frames", result.frames},
          {"bytes", result.bytes},
          {"first_us", result.first.time_since_epoch().count()},
          {"last_us", result.last.time_since_epoch().count()},
          {"gaps_cut", result.gaps_cut},
          {"cut_ms", result.cut_time.count()},
          {"overlapping", result.overlapping},
          {"resized", result.resized}};
}

ExportResult result_of(const json::object& from) {
  ExportResult result;
  result.frames = from.at("frames").to_number<std::uint64_t>();
  result.bytes = from.at("bytes").to_number<std::uint64_t>();
  result.first = base::WallTime{base::Microseconds{from.at("first_us").to_number<std::int64_t>()}};
  result.last = base::WallTime{base::Microseconds{from.at("last_us").to_number<std::int64_t>()}};
  result.gaps_cut = from.at("gaps_cut").to_number<std::size_t>();
  result.cut_time = base::Milliseconds{from.at("cut_ms").to_number<std::int64_t>()};
  result.overlapping = from.at("overlapping").to_number<std::uint64_t>();
  result.resized = from.at("resized").to_number<std::uint64_t>();
  return result;
}

// What people are told of a lapse.
json::object outcome_of(const LapseResult& lapse) {
  json::array cuts;
  for (const LapseCut& cut : lapse.cuts) cuts.push_back({{"film_s", cut.film_s}, {"why", cut.why}});
  return {{"length_s", lapse.length_s}, {"speed", lapse.speed},     {"pictures", lapse.pictures},
          {"damaged", lapse.bad},       {"empty", lapse.empty},     {"dark", lapse.dark},
          {"steadied", lapse.steadied}, {"limited", lapse.limited}, {"resized", lapse.resized},
          {"earlier", lapse.earlier},   {"gone", lapse.gone},       {"wanted", lapse.wanted},
          {"quieted", lapse.quieted},   {"chosen", lapse.chosen},   {"steady", lapse.steady},
          {"remark", lapse.remark},     {"cuts", std::move(cuts)}};
}

LapseResult lapse_result_of(const json::object& from) {
  LapseResult lapse;
  lapse.length_s = from.at("length_s").to_number<double>();
  lapse.speed = from.at("speed").to_number<double>();
  lapse.pictures = from.at("pictures").to_number<std::uint64_t>();
  lapse.bad = from.at("damaged").to_number<std::uint64_t>();
  lapse.empty = from.at("empty").to_number<int>();
  lapse.dark = from.at("dark").to_number<int>();
  lapse.steadied = from.at("steadied").to_number<int>();
  lapse.limited = from.at("limited").to_number<int>();
  lapse.resized = from.at("resized").to_number<int>();
  lapse.earlier = from.at("earlier").to_number<std::uint64_t>();
  lapse.gone = from.at("gone").to_number<int>();
  lapse.wanted = from.at("wanted").to_number<int>();
  // Of a film that an earlier version made, these are not known; it lies here for a day at most.
  if (const json::value* quieted = from.if_contains("quieted")) {
    lapse.quieted = quieted->to_number<int>();
    lapse.chosen = from.at("chosen").as_bool();
    lapse.steady = from.at("steady").as_bool();
    lapse.remark = std::string(from.at("remark").as_string());
  }
  for (const json::value& one : from.at("cuts").as_array()) {
    LapseCut cut;
    cut.film_s = one.at("film_s").to_number<double>();
    cut.why = std::string(one.at("why").as_string());
    lapse.cuts.push_back(std::move(cut));
  }
  return lapse;
}

ErrorCode code_named(std::string_view word) {
  for (int i = 0; i <= static_cast<int>(ErrorCode::cancelled); ++i) {
    if (name_of(static_cast<ErrorCode>(i)) == word) return static_cast<ErrorCode>(i);
  }
  return ErrorCode::io;
}

// `read` may throw for a member that is missing or of another type: all of it was written by this program.
Result<void> reading(std::string_view text, const std::function<void(const json::object&)>& read) {
  try {
    read(json::parse(text).as_object());
    return base::ok();
  } catch (const std::exception& failure) {
    return Error(ErrorCode::malformed, "an export that was asked for", failure.what(), "Ask for it again.");
  }
}

}  // namespace

std::string ask_text(const StoredExport& one) {
  json::object ask{{"camera", one.request.camera.text()},
                   {"from_us", one.request.from.time_since_epoch().count()},
                   {"to_us", one.request.to.time_since_epoch().count()},
                   {"format", one.request.format == ExportFormat::mp4 ? "mp4" : "matroska"},
                   {"frames_per_s", one.request.frames_per_s},
                   {"lapse", nullptr}};
  if (one.lapse) ask["lapse"] = ask_of(*one.lapse);
  return json::serialize(ask);
}

Result<void> read_ask(std::string_view text, StoredExport& one) {
  return reading(text, [&one](const json::object& ask) {
    auto camera = base::CameraName::parse(std::string_view(ask.at("camera").as_string()));
    if (!camera) throw std::runtime_error(camera.error().text());
    const auto time = [&ask](const char* name) {
      return base::WallTime{base::Microseconds{ask.at(name).to_number<std::int64_t>()}};
    };
    one.request =
        ExportRequest(std::move(*camera), time("from_us"), time("to_us"),
                      ask.at("format").as_string() == "mp4" ? ExportFormat::mp4 : ExportFormat::matroska);
    one.request.frames_per_s = ask.at("frames_per_s").to_number<int>();
    if (const json::value& lapse = ask.at("lapse"); !lapse.is_null())
      one.lapse = lapse_of(lapse.as_object(), one.request.camera.text());
  });
}

std::string outcome_text(const ExportResult& result, const std::optional<LapseResult>& lapse) {
  json::object outcome{{"result", outcome_of(result)}};
  if (lapse) outcome["lapse"] = outcome_of(*lapse);
  return json::serialize(outcome);
}

std::string outcome_text(const Error& error) {
  return json::serialize(json::object{{"error", json::object{{"code", name_of(error.code)},
                                                             {"where", error.where},
                                                             {"detail", error.detail},
                                                             {"remedy", error.remedy}}}});
}

Result<void> read_outcome(std::string_view text, StoredExport& one) {
  if (text.empty()) return base::ok();
  return reading(text, [&one](const json::object& outcome) {
    if (const json::value* error = outcome.if_contains("error")) {
      const auto member = [error](const char* name) { return std::string(error->at(name).as_string()); };
      one.error = Error(code_named(member("code")), member("where"), member("detail"), member("remedy"));
      return;
    }
    one.result = result_of(outcome.at("result").as_object());
    if (const json::value* lapse = outcome.if_contains("lapse"))
      one.lapse_result = lapse_result_of(lapse->as_object());
  });
}

}  // namespace rookery::archive
