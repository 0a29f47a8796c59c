// Holds an answer against the API's description: its status must stand there, and a problem must say what to
// do.
#pragma once

#include <algorithm>
#include <cctype>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json.hpp>

#include <gtest/gtest.h>

#include "web/handlers.h"
#include "web/message.h"

namespace rookery::test {

// Which of the described addresses this one is; nothing when none.
inline const boost::json::object* operation_of(const boost::json::object& paths, std::string_view method,
                                               std::string_view target) {
  web::Request request;
  if (!web::read_target(target, request)) return nullptr;
  std::string verb(method == "HEAD" ? "GET" : method);
  const web::Match found = web::match(
      web::routes(), boost::beast::http::string_to_verb({verb.data(), verb.size()}), request.segments);
  if (found.route == nullptr) return nullptr;
  std::string pattern(found.route->pattern);
  if (const auto rest = pattern.find("…"); rest != std::string::npos)
    pattern.erase(rest, std::string_view("…").size());
  std::transform(verb.begin(), verb.end(), verb.begin(), [](unsigned char c) { return std::tolower(c); });
  return &paths.at(pattern).as_object().at(verb).as_object();
}

inline void expect_described(std::string_view method, std::string_view target, unsigned status,
                             std::string_view type, const std::string& body) {
  static const boost::json::object paths =
      boost::json::parse(std::string(web::openapi_text())).as_object().at("paths").as_object();
  const std::string what = std::string(method) + " " + std::string(target) + ": " + std::to_string(status);
  if (status >= 400 && type == "application/problem+json" && method != "HEAD") {
    const auto problem = boost::json::parse(body).as_object();
    EXPECT_NE(problem.at("remedy").as_string(), "") << what << " " << body;
    EXPECT_NE(problem.at("detail").as_string(), "") << what << " " << body;
    EXPECT_EQ(problem.at("status").to_number<unsigned>(), status) << what;
  }
  const auto* operation = operation_of(paths, method, target);
  if (operation == nullptr) return;
  const auto& responses = operation->at("responses").as_object();
  // What the description's "default" stands for: it can happen to any request.
  static const std::vector<unsigned> kAnywhere = {400, 421, 431, 500, 503, 507};
  const bool anywhere =
      responses.contains("default") && std::ranges::find(kAnywhere, status) != kAnywhere.end();
  EXPECT_TRUE(anywhere || responses.contains(std::to_string(status))) << what << " is not described";
}

}  // namespace rookery::test
