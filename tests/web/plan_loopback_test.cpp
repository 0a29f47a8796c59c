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

}  // namespace
}  // namespace rookery::test
