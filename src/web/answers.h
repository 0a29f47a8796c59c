// Small helpers that handlers share.
#pragma once

#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "web/services.h"

namespace rookery::web {

// A JSON answer that nobody stores.
inline Response json_answer(const boost::json::object& object, http::status status = http::status::ok) {
  Response response(status);
  response.set("Content-Type", "application/json");
  response.set("Cache-Control", "no-store");
  response.body = boost::json::serialize(object);
  return response;
}

inline Response nothing_to_say() {
  Response response(http::status::no_content);
  response.set("Cache-Control", "no-store");
  return response;
}

struct TimeSpan {
  base::WallTime from;
  base::WallTime to;
};
// "to" is not after "from".
base::Error wrong_way_round(std::string where, base::WallTime from, base::WallTime to);
// The query's "from" and "to". Errors: invalid_value (missing, no time, wrong way round, longer than most).
base::Result<TimeSpan> span_of(const Request& request, std::chrono::days most);
// A time in the query. Errors: invalid_value.
base::Result<base::WallTime> time_of(const Request& request, std::string_view key);
// The query's "width" in pixels, 0 when it does not stand there. Errors: invalid_value (not 1–8192).
base::Result<int> width_of(const Request& request);

}  // namespace rookery::web
