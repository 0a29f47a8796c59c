// Problem documents (RFC 9457): how every failure is told over HTTP.
#pragma once

#include <boost/json/object.hpp>

#include "base/result.h"
#include "web/message.h"

namespace rookery::web {

// The HTTP status that tells `code`.
http::status status_of(base::ErrorCode code);

// {"type","title","status","detail","remedy","code"}. The detail holds the error's place and what was wrong;
// the remedy is never empty.
boost::json::object problem_of(const base::Error& error, http::status status);
inline boost::json::object problem_of(const base::Error& error) {
  return problem_of(error, status_of(error.code));
}

// A problem document as an answer, application/problem+json.
Response problem_answer(const boost::json::object& document, http::status status);
Response problem(const base::Error& error, http::status status);
inline Response problem(const base::Error& error) { return problem(error, status_of(error.code)); }

}  // namespace rookery::web
