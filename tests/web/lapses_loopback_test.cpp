// POST /api/v1/lapses: what may be asked of a film, and what is said of everything else.
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

TEST(Lapses, WhatCannotBeMeantIsSaid) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto post = [&hall](const std::string& more) {
    return hall.ask(
        "POST", "/api/v1/lapses", hall.owner(),
        R"({"camera":"anvil","from":"2026-03-01T00:00:00Z","to":"2026-03-01T01:00:00Z")" + more + "}");
  };
  EXPECT_EQ(post(R"(,"length_s":20,"format":"webp","card":"A vase","clock":true,"width_px":320)").status,
            202U);
  const std::vector<std::pair<std::string, std::string>> wrong = {
      {R"(,"length_s":0)", "length_s"},
      {R"(,"length_s":10,"speed":10)", "speed"},
      {R"(,"speed":0)", "speed"},
      {R"(,"format":"gif")", "gif"},
      {R"(,"frames_per_s":61)", "frames_per_s"},
      {R"(,"width_px":16)", "width_px"},
      {R"(,"clock":"yes")", "clock"},
      {R"(,"colour":1)", "colour"},
      {",\"card\":\"" + std::string(401, 'w') + "\"", "card"},
  };
  for (const auto& [more, said] : wrong) {
    const Answer answer = post(more);
    EXPECT_EQ(answer.status, more.find("card") == std::string::npos ? 422U : 413U) << more << answer.body;
    EXPECT_NE(answer.body.find(said), std::string::npos) << answer.body;
  }
  const Answer backward =
      hall.ask("POST", "/api/v1/lapses", hall.owner(),
               R"({"camera":"anvil","from":"2026-03-01T02:00:00Z","to":"2026-03-01T01:00:00Z"})");
  EXPECT_EQ(backward.status, 422U);
  const Answer long_span =
      hall.ask("POST", "/api/v1/lapses", hall.owner(),
               R"({"camera":"anvil","from":"2026-01-01T00:00:00Z","to":"2026-05-01T01:00:00Z"})");
  EXPECT_EQ(long_span.status, 422U);
}

// Whoever lost the address, or came back after a restart, finds it again.
TEST(Lapses, EveryoneSeesTheirOwnTheNewestFirst) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string viewer = hall.add_person("Ebba", archive::Role::viewer);
  const auto post = [&hall](const std::string& session, const char* format) {
    return hall
        .ask("POST", "/api/v1/lapses", session,
             fmt::format(R"({{"camera":"anvil","from":"2026-03-01T00:00:00Z","to":"2026-03-01T01:00:00Z",)"
                         R"("format":"{}"}})",
                         format))
        .json()
        .at("id")
        .as_string();
  };
  const auto first = post(hall.owner(), "mp4");
  const auto hers = post(viewer, "webp");
  const auto second = post(hall.owner(), "webm");
  const auto own = hall.ask("GET", "/api/v1/exports", hall.owner()).json().at("exports").as_array();
  ASSERT_EQ(own.size(), 2U);
  EXPECT_EQ(own[0].at("id").as_string(), second);
  EXPECT_EQ(own[1].at("id").as_string(), first);
  EXPECT_EQ(own[1].at("kind").as_string(), "lapse");
  const auto others = hall.ask("GET", "/api/v1/exports", viewer).json().at("exports").as_array();
  ASSERT_EQ(others.size(), 1U);
  EXPECT_EQ(others[0].at("id").as_string(), hers);
  const std::string place = "/api/v1/exports/" + std::string(first);
  EXPECT_EQ(hall.ask("GET", place, viewer).status, 404U);
  EXPECT_EQ(hall.ask("DELETE", place, hall.owner()).status, 204U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/exports", hall.owner()).json().at("exports").as_array().size(), 1U);
}

}  // namespace
}  // namespace rookery::test
