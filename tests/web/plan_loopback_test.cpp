// The sums over HTTP. What they say: tests/plan/.
#include <gtest/gtest.h>

#include <boost/json.hpp>

#include "plan/subject.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

TEST(PlanApi, WhoeverIsSignedInMayReckon) {
  WebStation hall;
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer, std::set<base::CameraName>{});
  EXPECT_EQ(hall.ask("GET", "/api/v1/plan", "").status, 401U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/plan/wire", "", R"({"values":{}})").status, 401U);
  const auto all = json::parse(hall.ask("GET", "/api/v1/plan", viewer).body).as_object();
  EXPECT_EQ(all.at("subjects").as_array().size(), plan::subjects().size());
}

TEST(PlanApi, AnAnswerIsTheOneOfTheCommandLine) {
  WebStation hall;
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer, std::set<base::CameraName>{});
  const auto answer = hall.ask("POST", "/api/v1/plan/wire", viewer,
                               R"({"values":{"current":"0,5 A","length":"2 m","size":"22 awg"}})");
  ASSERT_EQ(answer.status, 200U) << answer.body;
  const auto planned =
      plan::plan(*plan::find_subject("wire"),
                 std::vector<plan::Given>{{"current", "0,5 A"}, {"length", "2 m"}, {"size", "22 awg"}});
  ASSERT_TRUE(planned);
  EXPECT_EQ(answer.body, json::serialize(plan::to_json(planned->answer, planned->values)));
}

TEST(PlanApi, EachMistakeIsTold) {
  WebStation hall;
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer, std::set<base::CameraName>{});
  const auto wrong = hall.ask("POST", "/api/v1/plan/wire", viewer,
                              R"({"values":{"current":"24 MV","length":"2 m","colour":"red"}})");
  ASSERT_EQ(wrong.status, 422U) << wrong.body;
  const auto problem = json::parse(wrong.body).as_object();
  ASSERT_EQ(problem.at("faults").as_array().size(), 3U) << wrong.body;
  EXPECT_EQ(problem.at("faults").at(0).at("where").as_string(), "wire: colour");
  EXPECT_EQ(problem.at("faults").at(2).at("where").as_string(), "wire: size");
  EXPECT_EQ(hall.ask("POST", "/api/v1/plan/anchor", viewer, R"({"values":{}})").status, 404U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/plan/wire", viewer, R"({"values":{"current":0.5}})").status, 422U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/plan/wire", viewer, R"({"values":[]})").status, 422U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/plan/wire", viewer, R"({})").status, 422U);
}

// RFC 8259, 8.1: JSON is UTF-8, whatever was sent.
TEST(PlanApi, WhatIsRepeatedOfAQuestionIsShortAndUtf8) {
  WebStation hall;
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer, std::set<base::CameraName>{});
  std::string accents;
  for (int i = 0; i < 400; ++i) accents += "\u00e9";
  const auto told = [&](const std::string& path, const std::string& body) {
    const auto answer = hall.ask("POST", path, viewer, body);
    EXPECT_GE(answer.status, 400U) << body;
    boost::system::error_code error;
    const auto problem = json::parse(answer.body, error);
    EXPECT_FALSE(error) << answer.body;
    EXPECT_LT(answer.body.size(), 2000U);
    return error ? std::string() : std::string(problem.at("detail").as_string());
  };
  // One byte more in front, and a cut by bytes falls into a character.
  for (const std::string& front : {"", "x", "xx"}) {
    told("/api/v1/plan/wire", R"({"values":{"current":")" + front + accents.substr(0, 90) + R"("}})");
    told("/api/v1/plan/wire", R"({"values":{"strands":")" + front + accents + R"("}})");
    told("/api/v1/plan/wire", R"({"values":{")" + front + accents + R"(":"1"}})");
    told("/api/v1/plan/wire", R"({"values":{")" + front + accents + R"(":1}})");
    told("/api/v1/plan/wire", R"({"values":{},")" + front + accents + R"(":1})");
    std::string encoded;
    for (std::size_t i = 0; i < 40; ++i) encoded += "%C3%A9";
    told("/api/v1/plan/" + front + encoded, R"({"values":{}})");
  }
  EXPECT_NE(told("/api/v1/plan/%FF%1B%5B2J", R"({"values":{}})").find("\ufffd\\x1b[2J"), std::string::npos);
  told("/api/v1/plan/cost", R"({"values":{"parts":"case\u001b[2J 1","cameras":"1"}})");
}

}  // namespace
}  // namespace rookery::test
