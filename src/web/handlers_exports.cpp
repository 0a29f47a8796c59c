#include <charconv>

#include "base/printable.h"
#include "web/answers.h"
#include "web/fields.h"
#include "web/file_answer.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
namespace {

std::string_view word_of(station::ExportState state) {
  switch (state) {
    case station::ExportState::waiting:
      return "waiting";
    case station::ExportState::working:
      return "working";
    case station::ExportState::done:
      return "done";
    case station::ExportState::failed:
      return "failed";
    case station::ExportState::cancelled:
      return "cancelled";
  }
  return "failed";
}

std::string_view format_of(const station::ExportView& view) {
  if (view.lapse) return archive::name_of(view.lapse->format);
  return view.request.format == archive::ExportFormat::mp4 ? "mp4" : "matroska";
}

std::string_view media_type_of(const station::ExportView& view) {
  if (view.lapse) return archive::media_type(view.lapse->format);
  return view.request.format == archive::ExportFormat::mp4 ? "video/mp4" : "video/x-matroska";
}

// What there is to know of a finished lapse; null for anything else.
json::value lapse_json(const std::optional<archive::LapseResult>& lapse) {
  if (!lapse) return nullptr;
  json::array cuts;
  for (const auto& cut : lapse->cuts) cuts.push_back({{"film_s", cut.film_s}, {"why", cut.why}});
  return json::object{{"length_s", lapse->length_s}, {"speed", lapse->speed},
                      {"pictures", lapse->pictures}, {"damaged", lapse->bad},
                      {"empty", lapse->empty},       {"dark", lapse->dark},
                      {"steadied", lapse->steadied}, {"limited", lapse->limited},
                      {"resized", lapse->resized},   {"earlier", lapse->earlier},
                      {"gone", lapse->gone},         {"wanted", lapse->wanted},
                      {"quieted", lapse->quieted},   {"chosen", lapse->chosen},
                      {"steady", lapse->steady},     {"remark", base::printable_lines(lapse->remark)},
                      {"cuts", std::move(cuts)}};
}

json::object export_json(const station::ExportView& view) {
  json::object out{{"id", view.id},
                   {"camera", view.request.camera.text()},
                   {"from", base::to_rfc3339(view.request.from)},
                   {"to", base::to_rfc3339(view.request.to)},
                   {"kind", view.lapse ? "lapse" : "export"},
                   {"format", format_of(view)},
                   {"state", word_of(view.state)},
                   {"progress", view.progress},
                   {"bytes", view.result ? view.result->bytes : 0},
                   {"frames", view.result ? view.result->frames : 0},
                   {"file_name", view.file_name},
                   {"lapse", lapse_json(view.lapse_result)},
                   {"problem", nullptr}};
  if (view.error) out["problem"] = problem_of(*view.error);
  return out;
}

Error no_such_export() {
  return Error(ErrorCode::not_found, "export", "there is no such export, or it was removed",
               "Start it again; finished ones are kept for a day.");
}

// The caller's own export. Errors: not_found; also for someone else's, and for a camera that may no longer be
// seen.
base::Result<station::ExportView> own_export(const Call& call) {
  auto view = call.station().exports().find(call.params.front());
  if (!view || view->person != call.caller.person->id || !call.caller.may_see(view->request.camera)) {
    return no_such_export();
  }
  return view;
}

// The answer to whoever started one.
Response begun(const base::Result<station::ExportView>& started) {
  if (!started) return problem(started.error());
  Response response = json_answer(export_json(*started), http::status::accepted);
  response.set("Location", "/api/v1/exports/" + started->id);
  return response;
}

constexpr std::size_t kLongestCard = 400;  // bytes
constexpr std::chrono::hours kLongestLapse{24 * 62};

}  // namespace

Response get_exports(Call& call) {
  json::array own;
  for (const station::ExportView& view : call.station().exports().of(call.caller.person->id)) {
    if (call.caller.may_see(view.request.camera)) own.push_back(export_json(view));
  }
  return json_answer({{"exports", std::move(own)}});
}

Response post_exports(Call& call) {
  auto fields = Fields::parse(call.request.body, "export");
  if (!fields) return problem(fields.error());
  const std::string camera = fields->text("camera");
  const base::WallTime from = fields->time("from");
  const base::WallTime to = fields->time("to");
  const std::string format = fields->text("format");
  const auto rate = fields->maybe_integer("frames_per_s", 0, 60);
  if (format != "matroska" && format != "mp4") {
    fields->fault(Error(ErrorCode::invalid_value, "export",
                        fmt::format("\"format\" is \"{}\"", base::printable(format, 40)),
                        "Use \"matroska\" or \"mp4\"."));
  }
  if (to <= from) fields->fault(wrong_way_round("export", from, to));
  if (to - from > std::chrono::hours{24}) {
    fields->fault(
        Error(ErrorCode::invalid_value, "export", "the span is longer than 24 h", "Export it in pieces."));
  }
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto name = visible_camera(call, camera);
  if (!name) return problem(name.error());
  archive::ExportRequest request(
      *name, from, to, format == "mp4" ? archive::ExportFormat::mp4 : archive::ExportFormat::matroska);
  request.frames_per_s = static_cast<int>(rate.value_or(0));
  auto started = call.station().exports().start(call.caller.person->id, std::move(request));
  return begun(started);
}

Response post_lapses(Call& call) {
  auto fields = Fields::parse(call.request.body, "lapse");
  if (!fields) return problem(fields.error());
  const std::string camera = fields->text("camera");
  const base::WallTime from = fields->time("from");
  const base::WallTime to = fields->time("to");
  archive::LapseRequest lapse;
  const auto length = fields->maybe_integer("length_s", 1, 3600);
  const auto speed = fields->maybe_integer("speed", 1, 1'000'000);
  if (length && speed) {
    fields->fault(Error(ErrorCode::invalid_value, "lapse", "both \"length_s\" and \"speed\" are given",
                        "Give one of them: each follows from the other."));
  }
  lapse.length_s = static_cast<double>(length.value_or(30));
  lapse.speed = static_cast<double>(speed.value_or(0));
  lapse.frames_per_s = static_cast<int>(fields->maybe_integer("frames_per_s", 1, 60).value_or(25));
  lapse.width_px = static_cast<int>(fields->maybe_integer("width_px", 64, 1920).value_or(0));
  lapse.card = fields->maybe_text("card").value_or("");
  lapse.lit_only = fields->maybe_boolean("lit_only").value_or(false);
  lapse.clock = fields->maybe_boolean("clock").value_or(false);
  auto format = archive::parse_film_format(fields->maybe_text("format").value_or("mp4"));
  if (!format) fields->fault(format.error());
  if (lapse.card.size() > kLongestCard) {
    fields->fault(Error(ErrorCode::too_large, "lapse",
                        fmt::format("\"card\" has {} bytes; the most is {}", lapse.card.size(), kLongestCard),
                        "Use fewer words."));
  }
  if (to <= from) fields->fault(wrong_way_round("lapse", from, to));
  if (to - from > kLongestLapse) {
    fields->fault(Error(ErrorCode::invalid_value, "lapse", "the span is longer than 62 days",
                        "Make it of a part, or with the command line."));
  }
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto name = visible_camera(call, camera);
  if (!name) return problem(name.error());
  lapse.what = name->text();
  lapse.format = *format;
  return begun(call.station().exports().start_lapse(
      call.caller.person->id, archive::ExportRequest(*name, from, to, archive::ExportFormat::mp4),
      std::move(lapse)));
}

Response get_export(Call& call) {
  auto view = own_export(call);
  if (!view) return problem(view.error());
  return json_answer(export_json(*view));
}

Response delete_export(Call& call) {
  auto view = own_export(call);
  if (!view) return problem(view.error());
  if (auto removed = call.station().exports().remove(view->id); !removed) return problem(removed.error());
  return nothing_to_say();
}

Response get_export_file(Call& call) {
  auto view = own_export(call);
  if (!view) return problem(view.error());
  if (view->state != station::ExportState::done) {
    return problem(Error(ErrorCode::busy, "export", fmt::format("the export is {}", word_of(view->state)),
                         "Ask for its state until that is \"done\"."),
                   http::status::conflict);
  }
  return file_answer(call.request, {view->file, fmt::format("\"{}\"", view->id),
                                    std::string(media_type_of(*view)), view->file_name, no_such_export()});
}

}  // namespace rookery::web
