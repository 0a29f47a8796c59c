#include <charconv>

#include <boost/json/parse.hpp>

#include "archive/film_store.h"
#include "archive/job_store.h"
#include "base/log.h"
#include "base/printable.h"
#include "notices/base64.h"
#include "notices/pause_receiver.h"
#include "station/job_hook.h"
#include "web/answers.h"
#include "web/fields.h"
#include "web/file_answer.h"
#include "web/handlers.h"
#include "web/problem.h"
#include "web/recorded_still.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
using base::Result;
namespace {

constexpr std::int64_t kLongest_s = 31 * 86'400;

Error no_such_job(std::string_view text) {
  return {ErrorCode::not_found, "job", fmt::format("there is no job \"{}\"", base::printable(text)),
          "GET /api/v1/jobs lists those there are."};
}

// The same answer for one that there is not and one that the caller may not see.
Result<archive::Job> visible_job(const Call& call) {
  const std::string& text = call.params.at(0);
  std::int64_t id = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (error != std::errc{} || end != text.data() + text.size()) return no_such_job(text);
  auto job = call.station().job_store().find(id);
  if (job && !call.caller.may_see(job->camera)) return no_such_job(text);
  if (!job && job.error().code == ErrorCode::not_found) return no_such_job(text);
  return job;
}

json::value region_json(const vision::PictureShare& share) {
  if (share == vision::PictureShare{}) return nullptr;
  return json::object{{"x", share.x}, {"y", share.y}, {"w", share.width}, {"h", share.height}};
}

json::value now_json(const std::optional<station::JobView>& view, bool with_growth) {
  if (!view) return nullptr;
  json::array standing;
  for (const vision::JobSign sign : view->standing) standing.emplace_back(vision::name_of(sign));
  json::object out{{"phase", vision::name_of(view->now.phase)},
                   {"moving_share", view->now.moving_share},
                   {"quiet_s", view->now.quiet_s},
                   {"grown_share", view->now.grown_share},
                   {"grown_per_hour", view->now.grown_per_hour},
                   {"bed", region_json(view->now.bed)},
                   {"standing", std::move(standing)},
                   {"last_still", nullptr},
                   {"growth", nullptr}};
  if (view->last_still) out["last_still"] = base::to_rfc3339(*view->last_still);
  if (with_growth && view->width > 0) {
    const std::string cells(view->growth.begin(), view->growth.end());
    out["growth"] =
        json::object{{"width", view->width}, {"height", view->height}, {"cells", notices::base64(cells)}};
  }
  return out;
}

// Its lapse, where one is wanted or made.
json::value film_json(const Call& call, const archive::Job& job) {
  const auto film = archive::FilmStore(call.station().catalog()).find(job.id);
  if (!film || !*film) return nullptr;
  json::object out{{"state", name_of((*film)->state)},
                   {"length_s", (*film)->length_s},
                   {"progress", nullptr},
                   {"bytes", (*film)->bytes},
                   {"made_at", nullptr},
                   {"told", (*film)->told}};
  if (const auto progress = call.station().films().progress(job.id)) out["progress"] = *progress;
  if ((*film)->made) out["made_at"] = base::to_rfc3339(*(*film)->made);
  return out;
}

json::object with_now(const Call& call, const archive::Job& job, bool with_growth = false) {
  json::object out = archive::job_json(job);
  out["film"] = film_json(call, job);
  out["now"] = job.under_way() ? now_json(call.station().jobs().view(job.camera), with_growth) : nullptr;
  return out;
}

// What was written is taken up at once. It is written whatever becomes of that: the station tries again
// within a second.
void settle(Call& call) {
  if (const auto settled = call.station().jobs().settle(); !settled)
    base::log_warning("jobs", "{}", settled.error().text());
}

Response answer_of(Call& call, const Result<archive::Job>& job, http::status status = http::status::ok) {
  if (!job) return problem(job.error());
  settle(call);
  return json_answer(with_now(call, *job), status);
}

// What a job under way does not allow will be allowed when it is over: 409, not "come again".
Response refused(const Error& error) {
  if (error.code == ErrorCode::busy) return problem(error, http::status::conflict);
  return problem(error);
}

std::optional<std::chrono::seconds> expected_of(Fields& fields) {
  const auto given = fields.maybe_integer("expected_s", 60, kLongest_s);
  if (!given) return std::nullopt;
  return std::chrono::seconds(*given);
}

// The last step that the caller knows; 0: none.
Result<std::int64_t> steps_after_of(const Call& call) {
  std::int64_t after = 0;
  const auto text = call.request.query_value("steps_after");
  if (!text) return after;
  const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), after);
  if (error == std::errc{} && end == text->data() + text->size() && after >= 0) return after;
  return Error(ErrorCode::invalid_value, "query",
               fmt::format("\"steps_after\" is \"{}\"", base::printable(*text)),
               "Give the id of the last step that you know, a whole number from 0.");
}

Result<archive::JobQuery> query_of(const Call& call) {
  archive::JobQuery query;
  if (const auto text = call.request.query_value("camera")) {
    auto name = visible_camera(call, std::string(*text));
    if (!name) return name.error();
    query.cameras = {*name};
  } else if (!call.caller.is_owner() && call.caller.person && call.caller.person->cameras) {
    query.cameras.emplace(call.caller.person->cameras->begin(), call.caller.person->cameras->end());
  }
  if (const auto text = call.request.query_value("under_way")) {
    if (*text != "true" && *text != "false")
      return Error(ErrorCode::invalid_value, "query",
                   fmt::format("\"under_way\" is \"{}\"", base::printable(*text)), "Give true or false.");
    query.under_way = *text == "true";
  }
  if (const auto text = call.request.query_value("before")) {
    auto cursor = archive::EventCursor::parse(*text);
    if (!cursor) return cursor.error();
    query.before = *cursor;
  }
  if (const auto text = call.request.query_value("limit")) {
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), query.limit);
    if (error != std::errc{} || end != text->data() + text->size() || query.limit < 1 || query.limit > 500)
      return Error(ErrorCode::invalid_value, "query",
                   fmt::format("\"limit\" is \"{}\"", base::printable(*text)),
                   "Give a whole number from 1 to 500.");
  }
  return query;
}

}  // namespace

Response get_jobs(Call& call) {
  auto query = query_of(call);
  if (!query) return problem(query.error());
  auto page = call.station().job_store().page(*query);
  if (!page) return problem(page.error());
  json::array jobs;
  for (const archive::Job& job : page->jobs) jobs.push_back(with_now(call, job));
  json::object answer{{"jobs", std::move(jobs)}, {"next", nullptr}};
  if (page->next) answer["next"] = page->next->text();
  return json_answer(answer);
}

Response post_jobs(Call& call) {
  auto fields = Fields::parse(call.request.body, "job");
  if (!fields) return problem(fields.error());
  const std::string camera = fields->text("camera");
  const std::string label = fields->maybe_text("label").value_or("");
  const std::string note = fields->maybe_text("note").value_or("");
  auto expected = expected_of(*fields);
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto name = visible_camera(call, camera);
  if (!name) return problem(name.error());
  auto settings = call.station().job_store().settings(*name);
  if (!settings) return problem(settings.error());
  archive::Job job(*name);
  job.label = label;
  job.start = call.services.wall();
  job.expected = expected ? expected : settings->expected;
  return answer_of(call, call.station().job_store().start(job, note), http::status::created);
}

Response get_job(Call& call) {
  auto job = visible_job(call);
  if (!job) return problem(job.error());
  auto after = steps_after_of(call);
  if (!after) return problem(after.error());
  auto steps = call.station().job_store().steps(job->id, *after);
  if (!steps) return problem(steps.error());
  json::object out = with_now(call, *job, true);
  json::array list;
  for (const archive::JobStep& step : *steps) list.push_back(archive::job_step_json(step));
  out["steps"] = std::move(list);
  return json_answer(out);
}

Response patch_job(Call& call) {
  auto job = visible_job(call);
  if (!job) return problem(job.error());
  auto fields = Fields::parse(call.request.body, "job");
  if (!fields) return problem(fields.error());
  const auto label = fields->maybe_text("label");
  const auto expected = fields->maybe_integer_or_null("expected_s", 60, kLongest_s);
  const json::value* good = fields->maybe_any("good");
  if (good != nullptr && !good->is_bool() && !good->is_null())
    fields->fault(Error(ErrorCode::invalid_value, "job", "\"good\" is no judgement",
                        "Give true, false, or null for none."));
  if (auto all = fields->finish(); !all) return problem(all.error());
  archive::JobStore& store = call.station().job_store();
  Result<archive::Job> changed = *job;
  if (label) changed = store.set_label(job->id, *label);
  if (changed && expected) {
    std::optional<std::chrono::seconds> length;
    if (*expected) length = std::chrono::seconds(**expected);
    changed = store.set_expected(job->id, length);
  }
  if (changed && good != nullptr)
    changed = store.judge(job->id, good->is_bool() ? std::optional(good->get_bool()) : std::nullopt);
  return answer_of(call, changed);
}

Response delete_job(Call& call) {
  auto job = visible_job(call);
  if (!job) return problem(job.error());
  auto removed = call.station().job_store().remove(job->id);
  return removed ? nothing_to_say() : refused(removed.error());
}

Response post_job_end(Call& call) {
  auto job = visible_job(call);
  if (!job) return problem(job.error());
  auto fields = Fields::parse(call.request.body, "job");
  if (!fields) return problem(fields.error());
  const std::string word = fields->maybe_text("ending").value_or("ended");
  const std::string note = fields->maybe_text("note").value_or("");
  const auto ending = archive::job_ending_of(word);
  if (!ending)
    fields->fault(Error(ErrorCode::invalid_value, "job",
                        fmt::format("\"ending\" is \"{}\"", base::printable(word)),
                        "Use finished, failed or ended."));
  if (auto all = fields->finish(); !all) return problem(all.error());
  return answer_of(call, call.station().job_store().end(
                             job->id, {call.services.wall(), *ending, archive::JobVoice::hand, note}));
}

// Lent: the connection holds it, and awaits this to its end (router.h).
boost::asio::awaitable<Response> get_job_still(Call& call) {
  auto answering = answer_recorded_still(call, [&call]() -> Result<StillWanted> {
    auto job = visible_job(call);
    if (!job) return job.error();
    auto at = time_of(call.request, "at");
    if (!at) return at.error();
    return StillWanted{job->camera, *at};
  });
  co_return co_await std::move(answering);
}

Response post_job_film(Call& call) {
  auto job = visible_job(call);
  if (!job) return problem(job.error());
  auto fields = Fields::parse(call.request.body, "film");
  if (!fields) return problem(fields.error());
  const auto length = fields->maybe_integer("length_s", 1, 3600).value_or(30);
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto wanted = archive::FilmStore(call.station().catalog()).want(job->id, static_cast<double>(length));
  if (!wanted) return refused(wanted.error());
  call.station().films().wake();
  return json_answer(with_now(call, *job), http::status::accepted);
}

Response get_job_film(Call& call) {
  auto job = visible_job(call);
  if (!job) return problem(job.error());
  auto film = archive::FilmStore(call.station().catalog()).find(job->id);
  if (!film) return problem(film.error());
  const Error none(ErrorCode::not_found, "film", fmt::format("job {} has no film that is made", job->id),
                   "POST /api/v1/jobs/ID/film wants one; the job tells how far it is.");
  if (!*film || !(*film)->made) return problem(none);  // one that is made anew is there until then
  std::string time = base::to_rfc3339(job->start).substr(0, 19);
  time[10] = ' ';
  std::replace(time.begin(), time.end(), ':', '.');
  return file_answer(
      call.request, {archive::film_file(call.station().catalog().home(), job->id),
                     fmt::format("\"{}-{}\"", job->id, (*film)->made->time_since_epoch().count()),
                     "video/mp4", fmt::format("{} {}Z job {}.mp4", job->camera.text(), time, job->id), none});
}

Response get_job_settings(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto settings = call.station().job_store().settings(*name);
  if (!settings) return problem(settings.error());
  return json_answer(archive::job_settings_json(*settings));
}

Response patch_job_settings(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  boost::system::error_code failed;
  const json::value change = json::parse(call.request.body, failed);
  if (failed || !change.is_object())
    return problem(Error(ErrorCode::malformed, "job settings", "this is no JSON object",
                         "Send the settings that are to change, as docs/api.md shows them."));
  const auto possible = archive::change_job_settings({}, change.get_object());
  if (!possible) return problem(possible.error());
  // Only where it is named: what was removed since keeps nobody from changing the rest.
  if (change.get_object().contains("stop")) {
    const notices::NoticeStore receivers(call.station().catalog());
    if (auto there = notices::check_pause_receiver(receivers, possible->stop); !there)
      return problem(there.error());
  }
  const auto changed = call.station().job_store().change_settings(*name, change.get_object());
  if (!changed) return problem(changed.error());
  settle(call);
  return json_answer(archive::job_settings_json(*changed));
}

namespace {

// As JSON; or, for software that can only call an address, as the query's values with an empty body.
Result<station::HookCall> hook_call_of(const Call& call) {
  json::object object;
  if (call.request.body.empty()) {
    for (const char* name : {"what", "label", "note"}) {
      if (auto value = call.request.query_value(name)) object[name] = *value;
    }
  } else {
    boost::system::error_code failed;
    json::value value = json::parse(call.request.body, failed);
    if (failed || !value.is_object())
      return Error(ErrorCode::malformed, "hook", "this is no JSON object", "Send {\"what\":\"started\"}.");
    object = std::move(value.get_object());
  }
  Fields fields(std::move(object), "hook");
  station::HookCall said;
  const std::string word = fields.text("what");
  const auto what = station::hook_what_of(word);
  if (!what)  // where none stands there at all, that was said already
    fields.fault(Error(ErrorCode::invalid_value, "hook",
                       fmt::format("\"what\" is \"{}\"", base::printable(word)),
                       "Use started, step, finished or failed."));
  said.label = fields.maybe_text("label").value_or("");
  said.note = fields.maybe_text("note").value_or("");
  said.expected = expected_of(fields);
  if (auto all = fields.finish(); !all) return all.error();
  said.what = *what;
  return said;
}

Response too_many(std::chrono::milliseconds wait) {
  const auto seconds = std::chrono::ceil<std::chrono::seconds>(wait).count();
  Response response =
      problem(Error(ErrorCode::busy, "hook", "the software says more of this camera's job than is taken",
                    fmt::format("Say one thing a second, 20 at once at most. Try again in {} s.", seconds)),
              http::status::too_many_requests);
  response.set("Retry-After", std::to_string(seconds));
  return response;
}

}  // namespace

// It is written, and taken up by the station within a second: a caller does not wait for that.
Response post_hook(Call& call) {
  auto said = hook_call_of(call);
  if (!said) return problem(said.error());
  const base::CameraName camera = call.caller.token->camera;
  const auto wait = call.services.hook_limit.take(camera.text(), call.services.mono());
  if (wait.count() > 0) return too_many(wait);
  archive::JobStore& store = call.station().job_store();
  auto settings = store.settings(camera);
  if (!settings) return problem(settings.error());
  auto taken = station::take_hook(store, camera, *said, call.services.wall(), settings->expected);
  if (!taken) return problem(taken.error());
  json::object out{{"did", station::name_of(taken->did)}, {"job", nullptr}, {"why", taken->why}};
  if (taken->job) out["job"] = taken->job->id;
  return json_answer(out);
}

}  // namespace rookery::web
