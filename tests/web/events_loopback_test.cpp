// The log of events over HTTP: filters, pages, who sees what, keeping, stills.
#include <gtest/gtest.h>

#include "tests/support/picture.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

using namespace std::chrono_literals;
namespace json = boost::json;

base::WallTime at(std::chrono::microseconds since_noon) {
  return base::parse_rfc3339("2026-03-01T12:00:00Z").value() + since_noon;
}

class EventsApi : public testing::Test {
 protected:
  EventsApi() {
    hall_.add_camera("anvil");
    hall_.add_camera("bobbin");
    put(1, "anvil", 0s);
    put(2, "bobbin", 10s, archive::Event::Cause::lighting);
    put(3, "anvil", 20s);
    EXPECT_TRUE(hall_.station().catalog().flush());
  }
  void put(std::int64_t id, const char* camera, std::chrono::microseconds start,
           archive::Event::Cause cause = archive::Event::Cause::motion) {
    archive::Event event(WebStation::name(camera));
    event.id = id;
    event.cause = cause;
    event.start = at(start);
    event.end = event.best_at = at(start + 3s);
    event.peak = 0.25;
    event.region = {0, 0.5, 0.25, 0.5};
    hall_.station().events().put_later(event);
  }
  std::vector<std::int64_t> ids(const std::string& query, const std::string& session) {
    std::vector<std::int64_t> found;
    const Answer answer = hall_.ask("GET", "/api/v1/events" + query, session);
    EXPECT_EQ(answer.status, 200u) << answer.body;
    const auto body = answer.json();
    for (const auto& event : body.at("events").as_array()) found.push_back(event.at("id").as_int64());
    return found;
  }
  using Ids = std::vector<std::int64_t>;
  WebStation hall_;
};

TEST_F(EventsApi, TheNewestComeFirstAndPagesGoOnWhereTheLastEnded) {
  EXPECT_EQ(ids("", hall_.owner()), (Ids{3, 2, 1}));
  const auto first = hall_.ask("GET", "/api/v1/events?limit=2", hall_.owner()).json();
  ASSERT_TRUE(first.at("next").is_string());
  EXPECT_EQ(ids("?limit=2&before=" + std::string(first.at("next").as_string()), hall_.owner()), (Ids{1}));
  const auto& event = first.at("events").as_array()[0].as_object();
  EXPECT_EQ(event.at("start").as_string(), base::to_rfc3339(at(20s)));
  EXPECT_EQ(event.at("where").as_string(), "lower left");
  EXPECT_EQ(event.at("still").as_bool(), false);
}

TEST_F(EventsApi, FiltersAreThoseOfTheLog) {
  EXPECT_EQ(ids("?camera=anvil", hall_.owner()), (Ids{3, 1}));
  EXPECT_EQ(ids("?camera=anvil&camera=bobbin&cause=lighting&cause=view", hall_.owner()), (Ids{2}));
  EXPECT_EQ(ids("?from=2026-03-01T12:00:05Z&to=2026-03-01T12:00:15Z", hall_.owner()), (Ids{2}));
  EXPECT_EQ(ids("?least_peak=0.3", hall_.owner()), Ids{});
  EXPECT_EQ(ids("?kept=true", hall_.owner()), Ids{});
}

TEST_F(EventsApi, WhatIsWrongIsSaid) {
  for (const char* query :
       {"?limit=0", "?limit=501", "?limit=x", "?cause=ghost", "?least_peak=2", "?least_peak=", "?kept=1",
        "?from=yesterday", "?from=2026-03-01T12:00:05Z&to=2026-03-01T12:00:05Z"}) {
    const Answer answer = hall_.ask("GET", std::string("/api/v1/events") + query, hall_.owner());
    EXPECT_EQ(answer.status, 422u) << query << answer.body;
  }
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events?before=x", hall_.owner()).status, 422u);
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events?camera=No%20Name", hall_.owner()).status, 404u);
  for (const char* id : {"99", "x", "1x", "-1", "99999999999999999999"}) {
    EXPECT_EQ(hall_.ask("GET", std::string("/api/v1/events/") + id, hall_.owner()).status, 404u) << id;
  }
  EXPECT_EQ(hall_.ask("PATCH", "/api/v1/events/1", hall_.owner(), R"({"kept":1})").status, 422u);
}

TEST_F(EventsApi, AViewerSeesEventsOfGrantedCamerasOnly) {
  const auto ines = hall_.add_person("Ines", archive::Role::viewer, std::set{WebStation::name("bobbin")});
  EXPECT_EQ(ids("", ines), (Ids{2}));
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events?camera=anvil", ines).status, 404u);
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events/2", ines).status, 200u);
  std::string none = hall_.ask("GET", "/api/v1/events/99", ines).body;
  none.replace(none.find("99"), 2, "1");
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events/1", ines).body, none);
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events/1/still.jpg", ines).status, 404u);
  EXPECT_EQ(hall_.ask("PATCH", "/api/v1/events/2", ines, R"({"kept":true})").status, 403u);
}

TEST_F(EventsApi, AnEventIsKeptAndLetGo) {
  auto answer = hall_.ask("PATCH", "/api/v1/events/3", hall_.owner(), R"({"kept":true})");
  EXPECT_EQ(answer.status, 200u);
  EXPECT_TRUE(answer.json().at("kept").as_bool());
  EXPECT_EQ(ids("?kept=true", hall_.owner()), (Ids{3}));
  answer = hall_.ask("PATCH", "/api/v1/events/3", hall_.owner(), R"({"kept":false})");
  EXPECT_FALSE(answer.json().at("kept").as_bool());
}

TEST_F(EventsApi, TheStillIsTheRecordedPictureOfTheBestMoment) {
  hall_.add_camera("cog", true);
  const auto picture = make_picture(320, 240, 7);
  hall_.push("cog", picture);
  const auto sent = *hall_.station().camera(WebStation::name("cog"))->status.last_frame_at;
  archive::Event event(WebStation::name("cog"));
  event.id = 4;
  event.start = sent - 1s;
  event.end = sent + 1s;
  event.best_at = sent;
  hall_.station().events().put_later(event);
  ASSERT_TRUE(hall_.eventually([&] {
    (void)hall_.station().catalog().flush();
    return hall_.station().events().find(4).value().has_still;
  }));
  const Answer answer = hall_.ask("GET", "/api/v1/events/4/still.jpg", hall_.owner());
  EXPECT_EQ(answer.status, 200u);
  EXPECT_EQ(answer.body, std::string(reinterpret_cast<const char*>(picture.data()), picture.size()));
  EXPECT_EQ(hall_.ask("GET", "/api/v1/events/1/still.jpg", hall_.owner()).status, 404u);
}

TEST_F(EventsApi, MotionSettingsAreReadStrictly) {
  const auto patch = [&](const char* body) {
    return hall_.ask("PATCH", "/api/v1/cameras/anvil", hall_.owner(), body);
  };
  const auto changed = patch(
      R"({"record":"events","pre_roll_ms":2000,"post_roll_ms":0,"sensitivity":5,"mask":"2x1@320x240:1,1"})");
  ASSERT_EQ(changed.status, 200u) << changed.body;
  EXPECT_EQ(changed.json().at("record").as_string(), "events");
  EXPECT_EQ(changed.json().at("mask").as_string(), "2x1@320x240:1,1");
  EXPECT_EQ(changed.json().at("sensitivity").as_int64(), 5);
  EXPECT_GT(changed.json().at("status").at("pre_roll").at("most_bytes").as_int64(), 0);
  EXPECT_TRUE(patch(R"({"mask":null})").json().at("mask").is_null());
  for (const char* wrong :
       {R"({"record":"sometimes"})", R"({"record":true})", R"({"sensitivity":6})", R"({"pre_roll_ms":30001})",
        R"({"post_roll_ms":-1})", R"({"mask":"2x1:1,1"})", R"({"mask":5})", R"({"recording":true})"}) {
    const auto refused = patch(wrong);
    EXPECT_TRUE(refused.status == 422u || refused.status == 400u) << wrong << refused.body;
  }
  EXPECT_EQ(hall_.ask("GET", "/api/v1/cameras/anvil", hall_.owner()).json().at("record").as_string(),
            "events");
}

}  // namespace
}  // namespace rookery::test
