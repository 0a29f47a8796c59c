#include <charconv>

#include <boost/json/array.hpp>

#include "archive/dropout_json.h"
#include "base/printable.h"
#include "web/answers.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
namespace {

constexpr std::size_t kUsual = 50;
constexpr std::size_t kMost = 500;

base::Result<std::size_t> limit_of(const Request& request) {
  const auto text = request.query_value("limit");
  if (!text) return kUsual;
  std::size_t limit = 0;
  const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), limit);
  if (error == std::errc{} && end == text->data() + text->size() && limit >= 1 && limit <= kMost)
    return limit;
  return base::Error(base::ErrorCode::invalid_value, "query",
                     fmt::format("\"limit\" is \"{}\"", base::printable(*text, 40)),
                     fmt::format("Use 1 to {}.", kMost));
}

}  // namespace

Response get_dropouts(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  const auto limit = limit_of(call.request);
  if (!limit) return problem(limit.error());
  std::optional<base::WallTime> before;
  if (call.request.query_value("before")) {
    auto time = time_of(call.request, "before");
    if (!time) return problem(time.error());
    before = *time;
  }
  archive::DropoutStore& store = call.station().dropouts();
  // One more than is shown tells whether there are more.
  auto dropouts = store.list(*name, *limit + 1, before);
  if (!dropouts) return problem(dropouts.error());
  auto summary = store.summary(*name, call.services.wall());
  if (!summary) return problem(summary.error());
  json::object answer{{"summary", archive::summary_json(*summary)}, {"next", nullptr}};
  if (dropouts->size() > *limit) {
    dropouts->pop_back();
    answer["next"] = archive::dropout_place(dropouts->back());
  }
  json::array list;
  for (const archive::Dropout& dropout : *dropouts) list.push_back(archive::dropout_json(dropout));
  answer["dropouts"] = std::move(list);
  return json_answer(answer);
}

}  // namespace rookery::web
