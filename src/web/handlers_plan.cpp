#include <boost/json/array.hpp>

#include "base/printable.h"
#include "plan/subject.h"
#include "web/answers.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
namespace {

base::Result<std::vector<plan::Given>> given_in(const std::string& body) {
  auto fields = Fields::parse(body, "plan");
  if (!fields) return std::move(fields).error();
  const json::value* values = fields->maybe_any("values");
  if (auto done = fields->finish(); !done) return std::move(done).error();
  if (values == nullptr || !values->is_object()) {
    return Error(ErrorCode::invalid_value, "plan: values", "is missing, or no object",
                 "Send {\"values\": {\"current\": \"0.5 A\"}}.");
  }
  std::vector<plan::Given> out;
  for (const auto& [key, value] : values->get_object()) {
    if (!value.is_string()) {
      return Error(ErrorCode::invalid_value, "plan: " + base::printable(key), "is not text",
                   "Send each value as a person types it, with its unit: \"0.5 A\".");
    }
    out.push_back({std::string(key), std::string(value.get_string())});
  }
  return out;
}

// The first mistake as the problem itself, and each of them under "faults".
Response faulty(const std::vector<Error>& errors) {
  json::array faults;
  for (const Error& error : errors) {
    faults.push_back({{"where", base::printable_lines(error.where)},
                      {"detail", base::printable_lines(error.detail)},
                      {"remedy", base::printable_lines(error.remedy)}});
  }
  const http::status status = status_of(errors.front().code);
  json::object document = problem_of(errors.front(), status);
  document["faults"] = std::move(faults);
  return problem_answer(std::move(document), status);
}

}  // namespace

Response get_plan(Call&) {
  json::array subjects;
  for (const plan::Subject& subject : plan::subjects()) subjects.push_back(plan::to_json(subject));
  return json_answer({{"subjects", std::move(subjects)}});
}

// Lent: `call` is the connection's, which awaits this to its end.
boost::asio::awaitable<Response> post_plan(Call& call) {
  const plan::Subject* subject = plan::find_subject(call.params.at(0));
  if (subject == nullptr) {
    co_return problem(Error(ErrorCode::not_found, "plan",
                            fmt::format("there is no subject \"{}\"", base::printable(call.params.at(0), 40)),
                            "GET /api/v1/plan lists those there are."));
  }
  auto given = given_in(call.request.body);
  if (!given) co_return problem(given.error());
  // Ten thousand draws take milliseconds: not on a thread that serves connections.
  auto work = [subject, &given] {
    std::vector<Error> errors;
    const auto planned = plan::plan(*subject, *given, &errors);
    if (!planned) return faulty(errors);
    return json_answer(plan::to_json(planned->answer, planned->values));
  };
  auto working = run_on(call.station().computing(), work);
  co_return co_await std::move(working);
}

}  // namespace rookery::web
