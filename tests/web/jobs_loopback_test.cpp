// Jobs over HTTP: begun, ended, told of by a machine's software, and what is said of everything else.
#include <fstream>

#include <SQLiteCpp/SQLiteCpp.h>

#include "tests/support/eventually.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

std::string report_token(WebStation& hall, std::string_view camera) {
  return hall.station()
      .people()
      .new_token(WebStation::name(camera), "printer", archive::TokenUse::report,
                 hall.station().clock().wall())
      .value()
      .secret;
}

Answer hook(WebStation& hall, std::string_view camera, const std::string& token, const std::string& body,
            const std::string& query = {}) {
  return hall.ask("POST", fmt::format("/api/v1/hooks/{}{}", camera, query), {}, body,
                  {{"Authorization", "Bearer " + token}});
}

TEST(Jobs, FromBeginToEndByHand) {
  WebStation hall;
  hall.add_camera("anvil");
  const Answer begun = hall.ask("POST", "/api/v1/jobs", hall.owner(),
                                R"({"camera":"anvil","label":"bracket","expected_s":7200})");
  ASSERT_EQ(begun.status, 201U) << begun.body;
  const auto id = begun.json().at("id").as_int64();
  EXPECT_EQ(hall.ask("POST", "/api/v1/jobs", hall.owner(), R"({"camera":"anvil"})").status, 409U);
  const std::string path = fmt::format("/api/v1/jobs/{}", id);
  const Answer one = hall.ask("GET", path, hall.owner());
  EXPECT_EQ(one.json().at("steps").as_array().size(), 1U);
  EXPECT_TRUE(one.json().at("now").is_object()) << "taken up at once";
  EXPECT_EQ(hall.ask("POST", path + "/film", hall.owner(), "{}").status, 409U) << "it is under way";
  EXPECT_EQ(hall.ask("DELETE", path, hall.owner()).status, 409U);
  const Answer ended =
      hall.ask("POST", path + "/end", hall.owner(), R"({"ending":"failed","note":"warped"})");
  ASSERT_EQ(ended.status, 200U) << ended.body;
  EXPECT_EQ(ended.json().at("ending").as_string(), "failed");
  EXPECT_TRUE(ended.json().at("now").is_null());
  EXPECT_EQ(ended.json().at("film").as_object().at("length_s").to_number<double>(), 30);
  EXPECT_EQ(hall.ask("POST", path + "/end", hall.owner(), "{}").status, 409U);
  EXPECT_EQ(hall.ask("PATCH", path, hall.owner(), R"({"good":false,"label":"other"})").json().at("good"),
            false);
  EXPECT_EQ(hall.ask("PATCH", path, hall.owner(), R"({"good":3})").status, 422U);
  const Answer list = hall.ask("GET", "/api/v1/jobs?under_way=false&limit=1", hall.owner());
  EXPECT_EQ(list.json().at("jobs").as_array().size(), 1U);
  EXPECT_EQ(hall.ask("DELETE", path, hall.owner()).status, 204U);
  EXPECT_EQ(hall.ask("GET", path, hall.owner()).status, 404U);
}

TEST(Jobs, AMachinesSoftwareTellsOfIts) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("cog");
  const std::string token = report_token(hall, "anvil");
  EXPECT_EQ(hook(hall, "anvil", token, R"({"what":"finished"})").json().at("did").as_string(), "nothing");
  EXPECT_EQ(hook(hall, "anvil", token, R"({"what":"started","label":"vase"})").json().at("did").as_string(),
            "started");
  EXPECT_EQ(hook(hall, "anvil", token, R"({"what":"started","label":"vase"})").json().at("did").as_string(),
            "nothing");
  EXPECT_EQ(hook(hall, "anvil", token, "", "?what=step&note=half").json().at("did").as_string(), "noted");
  EXPECT_EQ(hook(hall, "anvil", token, "", "?what=finished").json().at("did").as_string(), "ended");
  EXPECT_EQ(hall.ask("GET", "/api/v1/jobs", hall.owner()).json().at("jobs").as_array().size(), 1U);
}

TEST(Jobs, AFilesLongNameIsCutAndEndsNothingForNothing) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string token = report_token(hall, "anvil");
  hook(hall, "anvil", token, R"({"what":"started","label":"first part"})");
  const std::string called = R"({"what":"started","label":")" + std::string(71, 'x') + R"(\u001b[31m"})";
  const Answer next = hook(hall, "anvil", token, called);
  ASSERT_EQ(next.status, 200U) << next.body;
  EXPECT_EQ(next.json().at("did").as_string(), "started");
  const Answer list = hall.ask("GET", "/api/v1/jobs?under_way=true", hall.owner());
  ASSERT_EQ(list.json().at("jobs").as_array().size(), 1U);
  EXPECT_TRUE(list.json().at("jobs").as_array()[0].as_object().at("label").as_string().starts_with("xxx"));
}

TEST(Jobs, WhoSaysTooMuchIsToldToWaitAndOthersAreNot) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("cog");
  const std::string token = report_token(hall, "anvil");
  for (int i = 0; i < 20; ++i)
    ASSERT_EQ(hook(hall, "anvil", token, R"({"what":"step"})").status, 200U) << "20 at once";
  Answer answer;
  for (int i = 0; i < 200 && answer.status != 429U; ++i)
    answer = hook(hall, "anvil", token, R"({"what":"step"})");
  ASSERT_EQ(answer.status, 429U) << answer.body;
  EXPECT_EQ(answer.field("Retry-After"), "1");
  EXPECT_EQ(hook(hall, "cog", report_token(hall, "cog"), R"({"what":"step"})").status, 200U);
}

TEST(Jobs, WhatAHookMayNotIsSaid) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("cog");
  const std::string token = report_token(hall, "anvil");
  EXPECT_EQ(hook(hall, "anvil", "wrong", R"({"what":"started"})").status, 401U);
  EXPECT_EQ(hook(hall, "cog", token, R"({"what":"started"})").status, 401U) << "another camera's";
  EXPECT_EQ(hall.ask("POST", "/api/v1/hooks/anvil", hall.owner(), R"({"what":"started"})").status, 401U)
      << "a person has the page for it";
  EXPECT_EQ(hook(hall, "anvil", token, R"({"what":"sneezed"})").status, 422U);
  EXPECT_EQ(hook(hall, "anvil", token, R"({"what":""})").status, 422U);
  EXPECT_EQ(hook(hall, "anvil", token, "", "?what=").status, 422U);
  EXPECT_NE(hook(hall, "anvil", token, "{}").body.find("what"), std::string::npos) << "missing is said so";
  EXPECT_EQ(hook(hall, "anvil", token, R"({"what":"started","colour":1})").status, 422U);
  EXPECT_EQ(hook(hall, "anvil", token, "[1,2]").status, 422U);
  EXPECT_EQ(hook(hall, "anvil", token, "").status, 422U) << "nothing was said";
  const std::string much = R"({"what":"started","note":")" + std::string(5'000'000, 'n') + "\"}";
  EXPECT_EQ(hook(hall, "anvil", token, much).status, 413U);
  const Answer watching = hall.ask("GET", "/live/anvil.jpg", {}, {}, {{"Authorization", "Bearer " + token}});
  EXPECT_EQ(watching.status, 401U) << "it opens nothing else";
  EXPECT_TRUE(hall.ask("GET", "/api/v1/jobs", hall.owner()).json().at("jobs").as_array().empty());
}

TEST(Jobs, AFilmStaysThereWhileItIsMadeAnewAndWhenThatFails) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto id =
      hall.ask("POST", "/api/v1/jobs", hall.owner(), R"({"camera":"anvil"})").json().at("id").as_int64();
  const std::string path = fmt::format("/api/v1/jobs/{}", id);
  hall.ask("POST", path + "/end", hall.owner(), "{}");
  archive::FilmStore films(hall.station().catalog());
  const auto is_settled = [&] { return films.find(id).value()->state != archive::FilmState::wanted; };
  ASSERT_TRUE(eventually(is_settled)) << "nothing is recorded";
  EXPECT_EQ(hall.ask("GET", path + "/film", hall.owner()).status, 404U);
  const auto file = archive::film_file(hall.station().catalog().home(), id);
  std::filesystem::create_directories(file.parent_path());
  std::ofstream(file) << "film";
  ASSERT_TRUE(films.note_made(id, 4, "", hall.station().clock().wall()));
  EXPECT_EQ(hall.ask("GET", path + "/film", hall.owner()).body, "film");
  EXPECT_EQ(hall.ask("POST", path + "/film", hall.owner(), R"({"length_s":10})").status, 202U);
  EXPECT_EQ(hall.ask("GET", path + "/film", hall.owner()).body, "film");
  ASSERT_TRUE(eventually(is_settled));
  EXPECT_EQ(hall.ask("GET", path + "/film", hall.owner()).body, "film");
}

TEST(Jobs, WhoLooksAgainIsToldOnlyTheStepsThatCameSince) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string token = report_token(hall, "anvil");
  hook(hall, "anvil", token, R"({"what":"started"})");
  hook(hall, "anvil", token, R"({"what":"step","note":"layer 1"})");
  const auto steps = [&](const std::string& query) {
    const Answer answer = hall.ask("GET", "/api/v1/jobs/1" + query, hall.owner());
    EXPECT_EQ(answer.status, 200U) << answer.body;
    return answer.json().at("steps").as_array();
  };
  const json::array all = steps("");
  ASSERT_EQ(all.size(), 2U);
  const auto last = all[1].at("id").as_int64();
  EXPECT_TRUE(steps(fmt::format("?steps_after={}", last)).empty());
  hook(hall, "anvil", token, R"({"what":"step","note":"layer 2"})");
  const json::array later = steps(fmt::format("?steps_after={}", last));
  ASSERT_EQ(later.size(), 1U);
  EXPECT_EQ(later[0].at("note").as_string(), "layer 2");
  EXPECT_EQ(steps("?steps_after=0").size(), 3U);
  for (const char* wrong : {"?steps_after=x", "?steps_after=", "?steps_after=-1", "?steps_after=1.5"})
    EXPECT_EQ(hall.ask("GET", fmt::format("/api/v1/jobs/1{}", wrong), hall.owner()).status, 422U) << wrong;
}

TEST(Jobs, WhatCannotBeMeantIsSaid) {
  WebStation hall;
  hall.add_camera("anvil");
  for (const char* body : {R"({})", R"({"camera":"none"})", R"({"camera":"anvil","expected_s":5})",
                           R"({"camera":"anvil","colour":1})", R"({"camera":"anvil","label":"a\tb"})"}) {
    const unsigned status = hall.ask("POST", "/api/v1/jobs", hall.owner(), body).status;
    EXPECT_TRUE(status == 422 || status == 404) << body << status;
  }
  EXPECT_EQ(hall.ask("GET", "/api/v1/jobs?limit=0", hall.owner()).status, 422U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/jobs?under_way=maybe", hall.owner()).status, 422U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/jobs/99999999999999999999", hall.owner()).status, 404U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/jobs/1/film", hall.owner()).status, 404U);
  EXPECT_EQ(
      hall.ask("PATCH", "/api/v1/cameras/anvil/job-settings", hall.owner(), R"({"still_every_s":0})").status,
      422U);
}

TEST(Jobs, SettingsOfALaterVersionOutliveAChangeByThisOne) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string path = "/api/v1/cameras/anvil/job-settings";
  ASSERT_EQ(hall.ask("PATCH", path, hall.owner(), R"({"film_s":60})").status, 200U);
  archive::Catalog& catalog = hall.station().catalog();
  ASSERT_TRUE(catalog.write([](SQLite::Database& db) -> base::Result<void> {
    db.exec("UPDATE job_settings SET settings = json_set(settings, '$.colour', 7, '$.stop.how', 'softly')");
    return base::ok();
  }));
  const Answer changed = hall.ask("PATCH", path, hall.owner(), R"({"still_every_s":7})");
  ASSERT_EQ(changed.status, 200U) << changed.body;
  EXPECT_EQ(changed.json().at("film_s").as_int64(), 60);
  EXPECT_FALSE(changed.json().contains("colour")) << "it is not known what it would mean";
  std::string text;
  ASSERT_TRUE(catalog.read([&](SQLite::Database& db) -> base::Result<void> {
    text = db.execAndGet("SELECT settings FROM job_settings").getString();
    return base::ok();
  }));
  const json::value stored = json::parse(text);
  EXPECT_EQ(stored.at("colour").as_int64(), 7);
  EXPECT_EQ(stored.at("stop").at("how").as_string(), "softly");
  EXPECT_EQ(stored.at("still_every_s").to_number<double>(), 7);
}

TEST(Jobs, WhoIsAskedToPauseHasToBeThere) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string path = "/api/v1/cameras/anvil/job-settings";
  const auto stop = [](std::int64_t receiver) {
    return fmt::format(R"({{"stop":{{"receiver":{},"signs":["still"],"hold_s":60}}}})", receiver);
  };
  const Answer refused = hall.ask("PATCH", path, hall.owner(), stop(4711));
  ASSERT_EQ(refused.status, 422U) << refused.body;
  EXPECT_EQ(refused.code(), "invalid-value");
  EXPECT_NE(refused.body.find("stop.receiver"), std::string::npos) << refused.body;
  EXPECT_NE(refused.body.find("4711"), std::string::npos) << refused.body;
  EXPECT_EQ(hall.ask("GET", path, hall.owner()).json().at("stop").at("receiver").as_int64(), 0);

  const Answer made = hall.ask(
      "POST", "/api/v1/receivers", hall.owner(),
      R"({"name":"printer-1","kind":"webhook","way":{"address":"http://127.0.0.1:1/"},"secret":"a secret that is long"})");
  ASSERT_EQ(made.status, 201U) << made.body;
  const auto receiver = made.json().at("id").as_int64();
  EXPECT_EQ(hall.ask("PATCH", path, hall.owner(), stop(receiver)).status, 200U);
  const auto trouble = [&] {
    const Answer answer = hall.ask("GET", "/api/v1/station", hall.owner());
    const json::value station = answer.json();
    for (const json::value& one : station.at("troubles").as_array()) {
      if (one.at("kind").as_string() == "pause") return std::string(one.at("detail").as_string());
    }
    return std::string();
  };
  EXPECT_EQ(trouble(), "");
  const std::string place = fmt::format("/api/v1/receivers/{}", receiver);
  EXPECT_EQ(hall.ask("PATCH", place, hall.owner(), R"({"enabled":false})").status, 200U);
  EXPECT_EQ(
      trouble(),
      "a pause that a job of anvil asks for reaches nobody: its receiver \"printer-1\" is switched off");
  EXPECT_EQ(hall.ask("DELETE", place, hall.owner()).status, 204U);
  EXPECT_EQ(trouble(), "a pause that a job of anvil asks for reaches nobody: its receiver was removed");
  // It keeps nobody from changing the rest; and is said until somebody settles it.
  const Answer other = hall.ask("PATCH", path, hall.owner(), R"({"film_s":60})");
  EXPECT_EQ(other.status, 200U) << other.body;
  EXPECT_EQ(other.json().at("stop").at("receiver").as_int64(), receiver);
  EXPECT_EQ(hall.ask("PATCH", path, hall.owner(), stop(receiver)).status, 422U);
  EXPECT_EQ(hall.ask("PATCH", path, hall.owner(), stop(0)).status, 200U);
  EXPECT_EQ(trouble(), "");
}

}  // namespace
}  // namespace rookery::test
