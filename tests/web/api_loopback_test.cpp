
#include "tests/web/web_station.h"
#include "web/handlers.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

// A route's pattern as an address.
std::string filled_in(std::string_view pattern) {
  std::string path(pattern);
  for (const auto& [from, to] :
       {std::pair{"{name}", "anvil"}, std::pair{"{id}", "1"}, std::pair{"{subject}", "wire"}}) {
    const std::size_t at = path.find(from);
    if (at != std::string::npos) path.replace(at, std::string_view(from).size(), to);
  }
  return path;
}

TEST(Api, NothingIsServedToStrangersButTheDoorItself) {
  WebStation hall;
  hall.add_camera("anvil");
  EXPECT_EQ(hall.ask("GET", "/healthz").status, 200U);
  for (const web::Route& route : web::routes()) {
    if (route.need == web::Need::nothing) continue;
    const std::string path = filled_in(route.pattern);
    const auto method = http::to_string(route.method);
    const Answer answer = hall.ask({method.data(), method.size()}, path);
    EXPECT_EQ(answer.status, 401U) << path;
    EXPECT_EQ(answer.field("Content-Type"), "application/problem+json") << path;
  }
}

TEST(Api, EveryRouteStandsInTheDescriptionAndTheOtherWayRound) {
  const json::object paths =
      json::parse(std::string(web::openapi_text())).as_object().at("paths").as_object();
  std::set<std::string> described;
  for (const auto& path : paths) {
    for (const auto& operation : path.value().as_object()) {
      described.insert(std::string(operation.key()) + " " + std::string(path.key()));
    }
  }
  std::set<std::string> routed;
  for (const web::Route& route : web::routes()) {
    std::string method(http::to_string(route.method));
    std::transform(method.begin(), method.end(), method.begin(),
                   [](unsigned char c) { return std::tolower(c); });
    std::string pattern(route.pattern);
    const std::size_t rest = pattern.find("…");
    if (rest != std::string::npos) pattern.erase(rest, std::string_view("…").size());
    routed.insert(method + " " + pattern);
  }
  EXPECT_EQ(described, routed);
}

// Just as much of JSON Schema as the description uses.
std::string misfit(const json::object& schemas, const json::value& schema, const json::value& value,
                   const std::string& where) {
  const json::object& rule = schema.as_object();
  if (const auto* ref = rule.if_contains("$ref")) {
    const std::string name =
        std::string(ref->as_string()).substr(std::string_view("#/components/schemas/").size());
    return misfit(schemas, schemas.at(name), value, where);
  }
  if (const auto* choices = rule.if_contains("oneOf")) {
    for (const json::value& choice : choices->as_array()) {
      if (misfit(schemas, choice, value, where).empty()) return {};
    }
    return where + " fits no choice";
  }
  std::set<std::string> types;
  const json::value& type = rule.at("type");
  if (type.is_string()) {
    types.insert(std::string(type.as_string()));
  } else {
    for (const json::value& one : type.as_array()) types.insert(std::string(one.as_string()));
  }
  const char* kind = value.is_null()     ? "null"
                     : value.is_bool()   ? "boolean"
                     : value.is_string() ? "string"
                     : value.is_array()  ? "array"
                     : value.is_object() ? "object"
                     : value.is_double() ? "number"
                                         : "integer";
  if (!types.contains(kind) && !(std::string_view(kind) == "integer" && types.contains("number"))) {
    return where + " is " + kind;
  }
  if (const auto* allowed = rule.if_contains("enum"); allowed != nullptr && !value.is_null()) {
    const auto& list = allowed->as_array();
    if (std::find(list.begin(), list.end(), value) == list.end()) return where + " is none of the words";
  }
  if (value.is_array()) {
    for (const json::value& one : value.as_array()) {
      std::string fault = misfit(schemas, rule.at("items"), one, where + "[]");
      if (!fault.empty()) return fault;
    }
  }
  if (!value.is_object()) return {};
  const auto* properties = rule.if_contains("properties");
  for (const auto& member : value.as_object()) {
    const json::value* known = properties ? properties->as_object().if_contains(member.key()) : nullptr;
    const json::value* other = rule.if_contains("additionalProperties");
    if (known == nullptr && other != nullptr && other->is_object()) known = other;
    if (known == nullptr) return where + "." + std::string(member.key()) + " is not described";
    std::string fault = misfit(schemas, *known, member.value(), where + "." + std::string(member.key()));
    if (!fault.empty()) return fault;
  }
  if (const auto* required = rule.if_contains("required")) {
    for (const json::value& name : required->as_array()) {
      if (!value.as_object().contains(name.as_string()))
        return where + "." + std::string(name.as_string()) + " is missing";
    }
  }
  return {};
}

TEST(Api, AnswersAreAsDescribed) {
  WebStation hall;
  hall.add_camera("anvil", true);
  hall.push("anvil", make_picture(320, 240, 1));
  const json::object doc =
      json::parse(hall.ask("GET", "/api/v1/openapi.json", hall.owner()).body).as_object();
  const json::object& schemas = doc.at("components").as_object().at("schemas").as_object();
  const auto check = [&](std::string_view schema, const Answer& answer, unsigned status) {
    EXPECT_EQ(answer.status, status) << schema << ": " << answer.body;
    EXPECT_EQ(misfit(schemas, schemas.at(json::string_view(schema.data(), schema.size())),
                     json::parse(answer.body), std::string(schema)),
              "");
  };
  const std::string span = "from=2026-03-01T00:00:00Z&to=2026-03-02T00:00:00Z";
  check("Health", hall.ask("GET", "/healthz"), 200);
  check("Person", hall.ask("GET", "/api/v1/me", hall.owner()), 200);
  check("Station", hall.ask("GET", "/api/v1/station", hall.owner()), 200);
  check("Cameras", hall.ask("GET", "/api/v1/cameras", hall.owner()), 200);
  check("Camera", hall.ask("GET", "/api/v1/cameras/anvil", hall.owner()), 200);
  check("Vitals", hall.ask("GET", "/api/v1/cameras/anvil/vitals?" + span, hall.owner()), 200);
  check("Strip", hall.ask("GET", "/api/v1/cameras/anvil/strip?" + span, hall.owner()), 200);
  check("Recordings", hall.ask("GET", "/api/v1/cameras/anvil/recordings?" + span, hall.owner()), 200);
  check("People", hall.ask("GET", "/api/v1/people", hall.owner()), 200);
  check("MadeToken",
        hall.ask("POST", "/api/v1/cameras/anvil/tokens", hall.owner(),
                 R"({"label":"front window","use":"watch"})"),
        201);
  check("Tokens", hall.ask("GET", "/api/v1/cameras/anvil/tokens", hall.owner()), 200);
  check("Job", hall.ask("POST", "/api/v1/jobs", hall.owner(), R"({"camera":"anvil"})"), 201);
  check("Jobs", hall.ask("GET", "/api/v1/jobs", hall.owner()), 200);
  check("JobWithSteps", hall.ask("GET", "/api/v1/jobs/1", hall.owner()), 200);
  check("Job", hall.ask("POST", "/api/v1/jobs/1/end", hall.owner(), "{}"), 200);
  check("JobSettings", hall.ask("GET", "/api/v1/cameras/anvil/job-settings", hall.owner()), 200);
  check("JobSettings",
        hall.ask("PATCH", "/api/v1/cameras/anvil/job-settings", hall.owner(),
                 R"({"bed":{"x":0.1,"y":0.1,"w":0.5,"h":0.5},"film_s":null})"),
        200);
  check("Problem", hall.ask("GET", "/api/v1/cameras/none", hall.owner()), 404);
  check("Person",
        hall.ask("POST", "/api/v1/people", hall.owner(),
                 R"({"name":"Ines","role":"viewer","password":"a long password","cameras":["anvil"]})"),
        201);
  check(
      "Export",
      hall.ask(
          "POST", "/api/v1/exports", hall.owner(),
          R"({"camera":"anvil","from":"2026-03-01T00:00:00Z","to":"2026-03-01T01:00:00Z","format":"matroska"})"),
      202);
  check("Export",
        hall.ask("POST", "/api/v1/lapses", hall.owner(),
                 R"({"camera":"anvil","from":"2026-03-01T00:00:00Z","to":"2026-03-01T01:00:00Z"})"),
        202);
}

// A proxy brings everyone from one address; whom it believes says who is behind it.
TEST(Roles, AViewerSeesOnlyWhatWasGranted) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("bobbin");
  hall.push("bobbin", make_picture(320, 240, 1));
  const std::string viewer =
      hall.add_person("Ines", archive::Role::viewer, std::set{WebStation::name("anvil")});
  const json::array cameras = hall.ask("GET", "/api/v1/cameras", viewer).json().at("cameras").as_array();
  ASSERT_EQ(cameras.size(), 1U);
  EXPECT_EQ(cameras[0].as_object().at("name"), "anvil");
  EXPECT_FALSE(cameras[0].as_object().contains("stream_address"));
  std::string unknown = hall.ask("GET", "/api/v1/cameras/unknown", viewer).body;
  unknown.replace(unknown.find("unknown"), 7, "bobbin");
  EXPECT_EQ(hall.ask("GET", "/api/v1/cameras/bobbin", viewer).body, unknown);
  const std::string span = "?from=2026-03-01T00:00:00Z&to=2026-03-02T00:00:00Z";
  for (const std::string path : {"/live/bobbin.jpg", "/live/bobbin.mjpeg",
                                 "/api/v1/cameras/bobbin/recorded.jpg?at=2026-03-01T00:00:00Z"}) {
    EXPECT_EQ(hall.ask("GET", path, viewer).status, 404U) << path;
  }
  for (const std::string path : {"strip", "vitals", "recordings"}) {
    EXPECT_EQ(hall.ask("GET", "/api/v1/cameras/bobbin/" + path + span, viewer).status, 404U) << path;
  }
  EXPECT_EQ(
      hall.ask(
              "POST", "/api/v1/exports", viewer,
              R"({"camera":"bobbin","from":"2026-03-01T00:00:00Z","to":"2026-03-01T01:00:00Z","format":"mp4"})")
          .status,
      404U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/lapses", viewer,
                     R"({"camera":"bobbin","from":"2026-03-01T00:00:00Z","to":"2026-03-01T01:00:00Z"})")
                .status,
            404U);
  EXPECT_EQ(hall.ask("DELETE", "/api/v1/cameras/anvil", viewer).status, 403U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/people", viewer).status, 403U);
  EXPECT_EQ(hall.ask("GET", "/metrics", viewer).status, 403U);
}

TEST(Roles, WhatIsTheOwnersIsRefusedToEveryViewer) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer);
  int refused = 0;
  for (const web::Route& route : web::routes()) {
    if (route.need != web::Need::owner && route.need != web::Need::metrics) continue;
    const auto method = http::to_string(route.method);
    const Answer answer = hall.ask({method.data(), method.size()}, filled_in(route.pattern), viewer, "{}");
    EXPECT_EQ(answer.status, 403U) << route.pattern;
    EXPECT_EQ(answer.code(), "no-permission") << route.pattern;
    ++refused;
  }
  EXPECT_GE(refused, 11);
  EXPECT_TRUE(hall.station().camera(WebStation::name("anvil")).has_value());
}

TEST(Cameras, AreAddedChangedAndForgottenStrictly) {
  WebStation hall;
  const auto post = [&](std::string_view body) {
    return hall.ask("POST", "/api/v1/cameras", hall.owner(), body);
  };
  const Answer made = post(R"({"name":"kiln","source":"pushed","title":"Kiln room","record":"never"})");
  EXPECT_EQ(made.status, 201U) << made.body;
  EXPECT_EQ(made.field("Location"), "/api/v1/cameras/kiln");
  EXPECT_EQ(post(R"({"name":"kiln","source":"pushed"})").status, 409U);
  const Answer typo = post(R"({"name":"kiln2","sauce":"pushed"})");
  EXPECT_EQ(typo.status, 422U);
  EXPECT_NE(typo.body.find("sauce"), std::string::npos);
  for (const char* bad : {"../etc", "a/b", "", "Anvil!"}) {
    EXPECT_EQ(post(json::serialize(json::object{{"name", bad}, {"source", "pushed"}})).status, 422U) << bad;
  }
  EXPECT_EQ(post(json::serialize(json::object{{"name", std::string(300, 'a')}, {"source", "pushed"}})).status,
            422U);
  EXPECT_EQ(post("{").status, 422U);
  const Answer changed = hall.ask("PATCH", "/api/v1/cameras/kiln", hall.owner(),
                                  R"({"title":"Kiln","keep_for_h":48,"user":"board","password":"geheim"})");
  EXPECT_EQ(changed.status, 200U) << changed.body;
  EXPECT_EQ(changed.json().at("keep_for_h"), 48);
  EXPECT_EQ(changed.json().at("has_password"), true);
  EXPECT_EQ(changed.body.find("geheim"), std::string::npos);
  EXPECT_EQ(hall.ask("PATCH", "/api/v1/cameras/kiln", hall.owner(), R"({"keep_for_h":null})")
                .json()
                .at("keep_for_h"),
            json::value(nullptr));
  EXPECT_EQ(hall.ask("DELETE", "/api/v1/cameras/kiln", hall.owner()).status, 204U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/cameras/kiln", hall.owner()).status, 404U);
}

// A stolen session must not guess the old password by spelling its name in many ways.
TEST(Metrics, CountEachCameraAndEnd) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.push("anvil", make_picture(320, 240, 1));
  const Answer answer = hall.ask("GET", "/metrics", hall.owner());
  EXPECT_EQ(answer.status, 200U);
  EXPECT_NE(answer.body.find("rookery_frames_published_total{camera=\"anvil\"} 1\n"), std::string::npos)
      << answer.body;
  EXPECT_TRUE(answer.body.ends_with("# EOF\n"));
  EXPECT_NE(answer.body.find("\nrookery_catalog_entries_given_up_total 0\n"), std::string::npos)
      << answer.body;
  hall.add_camera("bobbin");
  const std::string token = hall.station()
                                .people()
                                .new_token(WebStation::name("bobbin"), "graph", archive::TokenUse::watch,
                                           hall.station().clock().wall())
                                .value()
                                .secret;
  const Answer by_token = hall.ask("GET", "/metrics", {}, {}, {{"Authorization", "Bearer " + token}});
  EXPECT_EQ(by_token.status, 200U);
  EXPECT_EQ(by_token.body.find("anvil"), std::string::npos);
  EXPECT_NE(by_token.body.find("bobbin"), std::string::npos);
  EXPECT_EQ(by_token.body.find("catalog"), std::string::npos);
}

}  // namespace
}  // namespace rookery::test
