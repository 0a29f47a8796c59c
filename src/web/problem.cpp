#include "web/problem.h"

#include <boost/json/serialize.hpp>

#include "base/printable.h"

namespace rookery::web {
namespace {

// A short title a code, the same every time (RFC 9457, 3.1.3).
std::string_view title_of(base::ErrorCode code) {
  using enum base::ErrorCode;
  switch (code) {
    case invalid_value:
      return "A value is not allowed";
    case not_found:
      return "There is no such thing here";
    case already_exists:
      return "There is one already";
    case no_permission:
      return "Not allowed";
    case refused:
      return "Refused";
    case unreachable:
      return "Not reachable";
    case timed_out:
      return "Nothing came in time";
    case closed:
      return "The other side ended early";
    case malformed:
      return "Not well-formed";
    case too_large:
      return "Too large";
    case unsupported:
      return "Not supported";
    case disk_full:
      return "No space left";
    case io:
      return "Disk or network failed";
    case newer_version:
      return "Written by a later version";
    case damaged:
      return "Stored data is damaged";
    case busy:
      return "Busy";
    case cancelled:
      return "Stopped";
  }
  return "Failed";
}

// What to do where whoever failed does not say it.
std::string_view remedy_of(base::ErrorCode code) {
  using enum base::ErrorCode;
  switch (code) {
    case invalid_value:
    case malformed:
    case unsupported:
      return "Correct it and send it again; GET /api/v1/openapi.json describes what is taken.";
    case not_found:
      return "Look whether it was removed or is written otherwise.";
    case already_exists:
      return "Choose another name.";
    case no_permission:
      return "Ask an owner of the station, or sign in as somebody who may.";
    case too_large:
      return "Send less, or in pieces.";
    case refused:
    case unreachable:
    case timed_out:
    case closed:
      return "Look whether the other side runs and is on the network, then try again.";
    case disk_full:
      return "Make room on the station's disk.";
    case busy:
    case cancelled:
      return "Try again in a few seconds.";
    case io:
      return "Look at the station's log and at its disk.";
    case newer_version:
      return "Run the version that wrote it, or a later one.";
    case damaged:
      return "Run `rookery archive check` on the station.";
  }
  return "Look at the station's log.";
}

}  // namespace

http::status status_of(base::ErrorCode code) {
  using enum base::ErrorCode;
  switch (code) {
    case invalid_value:
      return http::status::unprocessable_entity;
    case not_found:
      return http::status::not_found;
    case already_exists:
      return http::status::conflict;
    case no_permission:
      return http::status::forbidden;
    case refused:
      return http::status::conflict;
    case malformed:
      return http::status::unprocessable_entity;
    case too_large:
      return http::status::payload_too_large;
    case unsupported:
      return http::status::unprocessable_entity;
    case disk_full:
      return http::status::insufficient_storage;
    case busy:
    case timed_out:
    case unreachable:
    case closed:
    case cancelled:
      return http::status::service_unavailable;
    case io:
    case newer_version:
    case damaged:
      return http::status::internal_server_error;
  }
  return http::status::internal_server_error;
}

boost::json::object problem_of(const base::Error& error, http::status status) {
  std::string detail = error.where;
  if (!error.detail.empty()) detail += (detail.empty() ? "" : ": ") + error.detail;
  boost::json::object out;
  out["type"] = fmt::format("/problems/{}", base::name_of(error.code));
  out["title"] = title_of(error.code);
  out["status"] = static_cast<unsigned>(status);
  // Whatever somebody sent and an error repeats: the document is UTF-8 nevertheless.
  out["detail"] = base::printable_lines(detail);
  out["remedy"] =
      error.remedy.empty() ? std::string(remedy_of(error.code)) : base::printable_lines(error.remedy);
  out["code"] = base::name_of(error.code);
  return out;
}

Response problem_answer(const boost::json::object& document, http::status status) {
  Response response(status);
  response.set("Content-Type", "application/problem+json");
  response.set("Cache-Control", "no-store");
  response.body = boost::json::serialize(document);
  return response;
}

Response problem(const base::Error& error, http::status status) {
  return problem_answer(problem_of(error, status), status);
}

}  // namespace rookery::web
