#include "web/event_query.h"

#include <charconv>

#include "base/printable.h"
#include "web/answers.h"

namespace rookery::web {
namespace {

using archive::EventQuery;
using base::Error;
using base::ErrorCode;
using base::Result;

Error wrong(std::string_view key, std::string_view value, std::string_view remedy) {
  return {ErrorCode::invalid_value, "query", fmt::format("\"{}\" is \"{}\"", key, base::printable(value, 40)),
          std::string(remedy)};
}

Result<std::optional<base::WallTime>> maybe_time(const Request& request, std::string_view key) {
  if (!request.query_value(key)) return std::optional<base::WallTime>();
  auto time = time_of(request, key);
  if (!time) return std::move(time).error();
  return std::optional(*time);
}

Result<void> read_span(const Request& request, EventQuery& query) {
  auto from = maybe_time(request, "from");
  if (!from) return std::move(from).error();
  auto to = maybe_time(request, "to");
  if (!to) return std::move(to).error();
  if (*from && *to && **to <= **from) return wrong_way_round("query", **from, **to);
  query.from = *from;
  query.to = *to;
  return base::ok();
}

// Nobody learns of cameras that they do not see; whoever may see all of them sees those that are gone as
// well.
Result<void> read_cameras(const Call& call, EventQuery& query) {
  std::vector<base::CameraName> cameras;
  for (const auto& [key, value] : call.request.query) {
    if (key != "camera") continue;
    auto name = base::CameraName::parse(value);
    if (!name || !call.caller.may_see(*name)) return no_such_camera(value);
    if (std::ranges::find(cameras, *name) == cameras.end()) cameras.push_back(std::move(*name));
  }
  if (!cameras.empty()) {
    query.cameras = std::move(cameras);
  } else if (call.caller.person && call.caller.person->cameras) {
    query.cameras.emplace(call.caller.person->cameras->begin(), call.caller.person->cameras->end());
  }
  return base::ok();
}

Result<void> read_causes(const Request& request, EventQuery& query) {
  for (const auto& [key, value] : request.query) {
    if (key != "cause") continue;
    const auto cause = archive::event_cause_of(value);
    if (!cause) return wrong(key, value, "Use motion, lighting, view or job.");
    query.causes.push_back(*cause);
  }
  return base::ok();
}

Result<void> read_numbers(const Request& request, EventQuery& query) {
  if (const auto text = request.query_value("least_peak")) {
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), query.least_peak);
    if (error != std::errc{} || end != text->data() + text->size() ||
        !(query.least_peak >= 0 && query.least_peak <= 1))
      return wrong("least_peak", *text, "Give a share of the picture from 0 to 1, for example 0.01.");
  }
  if (const auto text = request.query_value("limit")) {
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), query.limit);
    if (error != std::errc{} || end != text->data() + text->size() || query.limit < 1 || query.limit > 500)
      return wrong("limit", *text, "Give a number from 1 to 500.");
  }
  if (const auto text = request.query_value("kept")) {
    if (*text != "true" && *text != "false") return wrong("kept", *text, "Use true or false.");
    query.kept = *text == "true";
  }
  if (const auto text = request.query_value("before")) {
    auto before = archive::EventCursor::parse(*text);
    if (!before) return std::move(before).error();
    query.before = *before;
  }
  return base::ok();
}

}  // namespace

Result<EventQuery> event_query_of(const Call& call) {
  EventQuery query;
  Result<void> read = read_span(call.request, query);
  if (read) read = read_cameras(call, query);
  if (read) read = read_causes(call.request, query);
  if (read) read = read_numbers(call.request, query);
  if (!read) return std::move(read).error();
  return query;
}

}  // namespace rookery::web
