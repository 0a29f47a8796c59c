#include <charconv>

#include "archive/event_json.h"
#include "archive/keep_event.h"
#include "base/printable.h"
#include "web/answers.h"
#include "web/event_query.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/problem.h"
#include "web/recorded_still.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
namespace {

Error no_such_event(std::string_view text) {
  return {ErrorCode::not_found, "event", fmt::format("there is no event \"{}\"", base::printable(text, 40)),
          "It may have been taken away because it was the oldest. GET /api/v1/events lists those there are."};
}

// The event that the first parameter names. The same answer for one that there is not and one that the caller
// may not see.
base::Result<archive::Event> visible_event(const Call& call) {
  const std::string& text = call.params.at(0);
  std::int64_t id = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (error != std::errc{} || end != text.data() + text.size()) return no_such_event(text);
  auto event = call.station().events().find(id);
  if (event && !call.caller.may_see(event->camera)) return no_such_event(text);
  if (!event && event.error().code == ErrorCode::not_found) return no_such_event(text);
  return event;
}

}  // namespace

Response get_events(Call& call) {
  auto query = event_query_of(call);
  if (!query) return problem(query.error());
  auto page = call.station().events().page(*query);
  if (!page) return problem(page.error());
  json::array events;
  for (const archive::Event& event : page->events) events.push_back(archive::event_json(event));
  json::object answer{{"events", std::move(events)}, {"next", nullptr}};
  if (page->next) answer["next"] = page->next->text();
  return json_answer(answer);
}

Response get_event(Call& call) {
  auto event = visible_event(call);
  if (!event) return problem(event.error());
  return json_answer(archive::event_json(*event));
}

Response patch_event(Call& call) {
  auto event = visible_event(call);
  if (!event) return problem(event.error());
  auto fields = Fields::parse(call.request.body, "event");
  if (!fields) return problem(fields.error());
  const bool kept = fields->boolean("kept");
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto changed = archive::keep_event(call.station().catalog(), event->id, kept);
  if (!changed) return problem(changed.error());
  return json_answer(archive::event_json(*changed));
}

// Lent: the connection holds it, and awaits this to its end (router.h).
boost::asio::awaitable<Response> get_event_still(Call& call) {
  auto answering = answer_recorded_still(call, [&call]() -> base::Result<StillWanted> {
    auto event = visible_event(call);
    if (!event) return event.error();
    if (!event->has_still) {
      return Error(
          ErrorCode::not_found, "event",
          fmt::format("nothing is recorded of event {} at {}", event->id, base::to_rfc3339(event->best_at)),
          "Its recordings may have gone to make room, or its camera did not record.");
    }
    return StillWanted{event->camera, event->best_at};
  });
  co_return co_await std::move(answering);
}

}  // namespace rookery::web
