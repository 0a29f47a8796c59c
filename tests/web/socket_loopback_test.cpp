#include "tests/web/socket_page.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

TEST(Socket, GreetsAndTellsTheStatusOfWhatThePersonMaySee) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("bobbin");
  const std::string viewer =
      hall.add_person("Ines", archive::Role::viewer, std::set{WebStation::name("anvil")});
  Page page(hall, viewer);
  EXPECT_EQ(page.status(), 101U);
  EXPECT_EQ(page.chosen_protocol(), "rookery.v1");
  EXPECT_TRUE(page.text("hello").contains("version"));
  const json::array cameras = page.text("status").at("cameras").as_array();
  ASSERT_EQ(cameras.size(), 1U);
  EXPECT_EQ(cameras[0].at("name"), "anvil");
  page.send(show({{"bobbin", 1}, {"anvil", 2}}));
  EXPECT_EQ(page.text("problem").at("slot"), 1);
  hall.push("bobbin", make_picture(320, 240, 1));
  hall.push("anvil", make_picture(320, 240, 2));
  EXPECT_EQ(page.picture()->slot, 2);
}

TEST(Socket, IsRefusedToStrangersAndOtherSites) {
  WebStation hall;
  EXPECT_EQ(Page(hall, "wrong").status(), 401U);
  EXPECT_EQ(Page(hall, hall.owner(), "http://elsewhere.example").status(), 403U);
  EXPECT_EQ(Page(hall, hall.owner(), "null").status(), 403U);
  EXPECT_EQ(Page(hall, hall.owner(), {}, "other.v1").status(), 400U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/socket", hall.owner()).status, 426U);
}

TEST(Socket, SendsTheNewestFrameOnlyWhenTheOneBeforeWasDrawn) {
  WebStation hall;
  hall.add_camera("anvil");
  Page page(hall, hall.owner());
  page.send(show({{"anvil", 7}}));
  const auto first = make_picture(320, 240, 1);
  hall.push("anvil", first);
  const auto one = page.picture();
  ASSERT_TRUE(one);
  EXPECT_EQ(one->kind, 1);
  EXPECT_EQ(one->slot, 7);
  EXPECT_EQ(one->serial, 1U);
  EXPECT_EQ(one->width, 320);
  EXPECT_EQ(one->height, 240);
  EXPECT_TRUE(one->jpeg == text_of(first));
  for (unsigned number = 2; number <= 9; ++number) hall.push("anvil", make_picture(320, 240, number));
  EXPECT_TRUE(page.is_silent());  // not acknowledged: nothing more
  const auto newest = make_picture(320, 240, 10);
  hall.push("anvil", newest);
  page.acknowledge(one->serial);
  const auto two = page.picture();
  ASSERT_TRUE(two);
  EXPECT_EQ(two->serial, 2U);
  EXPECT_TRUE(two->jpeg == text_of(newest));
}

TEST(Socket, HasAtMostThirtyTwoUnacknowledgedInAll) {
  WebStation hall;
  hall.add_camera("anvil");
  Page page(hall, hall.owner());
  json::array cameras;
  for (int slot = 0; slot < 40; ++slot) {
    cameras.push_back(json::object{{"camera", "anvil"}, {"slot", slot}, {"width_px", 0}});
  }
  page.send(json::serialize(json::object{{"do", "show"}, {"cameras", cameras}}));
  hall.push("anvil", make_picture(320, 240, 1));
  std::set<int> slots;
  for (int i = 0; i < 32; ++i) {
    const auto picture = page.picture();
    ASSERT_TRUE(picture);
    slots.insert(picture->slot);
  }
  EXPECT_EQ(slots.size(), 32U);
  EXPECT_TRUE(page.is_silent());
  page.acknowledge(1);
  const auto next = page.picture();
  ASSERT_TRUE(next);
  EXPECT_EQ(next->serial, 33U);
}

// Large pictures that the page has not read yet fill the connection: what is said meanwhile waits its turn.
TEST(Socket, WhatIsSaidWhilePicturesWaitToBeWrittenIsNoOffence) {
  WebStation hall;
  hall.add_camera("anvil");
  Page page(hall, hall.owner());
  json::array cameras;
  for (int slot = 0; slot < 32; ++slot) {
    cameras.push_back(json::object{{"camera", "anvil"}, {"slot", slot}, {"width_px", 0}});
  }
  page.send(json::serialize(json::object{{"do", "show"}, {"cameras", cameras}}));
  hall.push("anvil", make_picture(4000, 3000, 1));
  ASSERT_TRUE(page.picture());
  page.send(R"({"do":"dance"})");
  EXPECT_NE(json::serialize(page.text("problem")).find("dance"), std::string::npos);
}

TEST(Socket, APageThatReadsNothingDelaysNobody) {
  WebStation hall([](web::ServerOptions& options) { options.limits.send_buffer_bytes = 4096; });
  hall.add_camera("anvil");
  Page stuck(hall, hall.owner(), {}, "rookery.v1", 4096);
  stuck.send(show({{"anvil", 1}}));  // and never reads again
  ASSERT_TRUE(
      WebStation::eventually([&] { return hall.station().camera(WebStation::name("anvil"))->viewers == 1; }));
  Page quick(hall, hall.owner());
  quick.send(show({{"anvil", 1}}));
  ASSERT_TRUE(
      WebStation::eventually([&] { return hall.station().camera(WebStation::name("anvil"))->viewers == 2; }));
  for (unsigned number = 0; number < 100; ++number) {
    const auto jpeg = make_picture(640, 480, number, 95);
    hall.push("anvil", jpeg);
    const auto picture = quick.picture();
    ASSERT_TRUE(picture) << number;
    EXPECT_TRUE(picture->jpeg == text_of(jpeg)) << number;
    quick.acknowledge(picture->serial);
  }
}

// A large picture on a thin line takes longer than a viewer may take nothing.
TEST(Socket, ASlowPageThatTakesBytesIsNotCut) {
  constexpr std::chrono::milliseconds kStalled{500};
  WebStation hall([&](web::ServerOptions& options) {
    options.limits.send_buffer_bytes = 4096;
    options.limits.stalled = kStalled;
  });
  hall.add_camera("anvil");
  Line line(hall.endpoint(), 16384);
  line.send(hall.request_text("GET", "/api/v1/socket", hall.owner(), {},
                              {{"Origin", "http://" + hall.host()},
                               {"Upgrade", "websocket"},
                               {"Connection", "Upgrade"},
                               {"Sec-WebSocket-Version", "13"},
                               {"Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ=="},
                               {"Sec-WebSocket-Protocol", "rookery.v1"}}));
  ASSERT_TRUE(line.receive_until("\r\n\r\n").starts_with("HTTP/1.1 101"));
  const std::string wish = show({{"anvil", 1}});
  ASSERT_LT(wish.size(), 126U);
  // RFC 6455, 5.2: one text frame, its mask all zero.
  line.send(std::string("\x81") + static_cast<char>(0x80 | wish.size()) + std::string(4, '\0') + wish);
  const auto jpeg = make_picture(1600, 1200, 1, 100);
  hall.push("anvil", jpeg);
  const auto began = std::chrono::steady_clock::now();
  std::size_t came = 0;
  while (came < jpeg.size()) {
    const std::string some = line.receive_bytes(4096);
    ASSERT_FALSE(some.empty()) << "cut after " << came << " of " << jpeg.size() << " bytes";
    came += some.size();
    const auto taken = std::chrono::steady_clock::now();
    const auto pause = 3 * kStalled * 4096 / jpeg.size();
    WebStation::eventually([&] { return std::chrono::steady_clock::now() - taken > pause; });
  }
  EXPECT_GT(std::chrono::steady_clock::now() - began, 2 * kStalled);
}

TEST(Socket, SendsTheSizeShown) {
  WebStation hall;
  hall.add_camera("anvil");
  Page page(hall, hall.owner());
  page.send(show({{"anvil", 1}}, 200));
  hall.push("anvil", make_picture(1280, 960, 1));
  const auto picture = page.picture();
  ASSERT_TRUE(picture);
  EXPECT_EQ(picture->width, 320);
  EXPECT_EQ(picture->height, 240);
}

TEST(Socket, AnEmptyListShowsNothing) {
  WebStation hall;
  hall.add_camera("anvil");
  Page page(hall, hall.owner());
  page.send(show({{"anvil", 1}}));
  hall.push("anvil", make_picture(320, 240, 1));
  page.acknowledge(page.picture()->serial);
  page.send(show({}));
  ASSERT_TRUE(
      WebStation::eventually([&] { return hall.station().camera(WebStation::name("anvil"))->viewers == 0; }));
  hall.push("anvil", make_picture(320, 240, 2));
  EXPECT_TRUE(page.is_silent());
}

TEST(Socket, ARemovedCameraIsToldAndOneOfItsNameIsShownAnew) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("bobbin");
  Page page(hall, hall.owner());
  EXPECT_EQ(page.text("status").at("names"), (json::array{"anvil", "bobbin"}));
  page.send(show({{"anvil", 1}}));
  hall.push("anvil", make_picture(320, 240, 1));
  const auto before = page.picture();
  ASSERT_TRUE(before);
  page.acknowledge(before->serial);

  ASSERT_TRUE(hall.station().remove(WebStation::name("anvil")).has_value());
  const json::object lost = page.text("problem");
  EXPECT_EQ(lost.at("slot").to_number<int>(), 1);
  EXPECT_EQ(lost.at("problem").as_object().at("code").as_string(), "not-found");
  json::object status = page.text("status");
  while (!status.contains("names") && !testing::Test::HasFailure()) status = page.text("status");
  EXPECT_EQ(status.at("names"), (json::array{"bobbin"}));

  hall.add_camera("anvil");
  page.send(show({{"anvil", 1}}));  // word for word as before
  hall.push("anvil", make_picture(320, 240, 2));
  const auto after = page.picture();
  ASSERT_TRUE(after);
  EXPECT_EQ(after->jpeg, text_of(make_picture(320, 240, 2)));
}

TEST(Socket, WhatIsNoObjectOrTooLargeClosesIt) {
  WebStation hall;
  Page list(hall, hall.owner());
  list.send("[]");
  EXPECT_EQ(list.closed(), 1008U);
  Page large(hall, hall.owner());
  large.send("{\"do\":\"" + std::string(70'000, 'x') + "\"}");
  EXPECT_EQ(large.closed(), 1008U);
  Page odd(hall, hall.owner());
  odd.send(R"({"do":"dance"})");
  EXPECT_NE(json::serialize(odd.text("problem")).find("dance"), std::string::npos);
  odd.send(R"({"do":"pause","slot":3})");
  EXPECT_EQ(odd.text("problem").at("slot"), 3);
}

TEST(Socket, EndsWhenThePersonSignsOutOrLosesTheCamera) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string viewer =
      hall.add_person("Ines", archive::Role::viewer, std::set{WebStation::name("anvil")});
  Page page(hall, viewer);
  page.send(show({{"anvil", 1}}));
  hall.push("anvil", make_picture(320, 240, 1));
  page.acknowledge(page.picture()->serial);
  EXPECT_EQ(hall.ask("PATCH", "/api/v1/people/Ines", hall.owner(), R"({"cameras":[]})").status, 204U);
  EXPECT_EQ(page.text("problem").at("slot"), 1);
  EXPECT_EQ(hall.ask("DELETE", "/api/v1/people/Ines", hall.owner()).status, 204U);
  EXPECT_TRUE(WebStation::eventually([&] { return hall.server().connections() == 0; }));
}

TEST(Socket, ClosesInGoodOrderWhenTheStationStops) {
  WebStation hall;
  Page page(hall, hall.owner());
  page.text("hello");
  std::thread stopping([&] { hall.server().stop(); });
  EXPECT_EQ(page.closed(), 1001U);
  stopping.join();
}

TEST(Socket, APageThatAnswersNoPingIsClosed) {
  WebStation hall([](web::ServerOptions& options) {
    options.limits.ping_every = std::chrono::milliseconds{50};
    options.limits.ping_patience = std::chrono::milliseconds{200};
  });
  Page page(hall, hall.owner());
  ASSERT_EQ(page.status(), 101U);
  // Nothing reads on the page's side, so no ping is answered.
  EXPECT_TRUE(WebStation::eventually([&] { return hall.server().connections() == 0; }));
}

// Playback of what was recorded a moment ago. ------------------------------------------------------------

struct Recorded {
  std::vector<std::string> jpegs;
  std::vector<std::int64_t> times_us;  // as the archive tells them
};

// Pushes `count` pictures as fast as the station takes them and waits until all are in the archive.
Recorded record(WebStation& hall, unsigned count) {
  Recorded out;
  for (unsigned number = 0; number < count; ++number) {
    const auto jpeg = make_picture(160, 120, number);
    hall.push("anvil", jpeg);
    out.jpegs.push_back(text_of(jpeg));
    const auto moment = hall.station().clock().wall();  // the archive tells milliseconds apart
    WebStation::eventually(
        [&] { return hall.station().clock().wall() - moment > std::chrono::milliseconds{10}; });
  }
  EXPECT_TRUE(WebStation::eventually([&] {
    const auto counters = hall.station().camera(WebStation::name("anvil"))->recorder;
    return counters.written == count;
  }));
  archive::Playback playback(hall.station().catalog(), WebStation::name("anvil"));
  EXPECT_TRUE(WebStation::eventually([&] {
    out.times_us.clear();
    auto frame = playback.seek(base::WallTime{});
    while (frame && frame->has_value()) {
      out.times_us.push_back((*frame)->at.time_since_epoch().count());
      frame = playback.next();
    }
    return out.times_us.size() == count;
  }));
  return out;
}

std::string play(const Recorded& recorded, std::size_t from, double speed) {
  const base::WallTime at{base::Microseconds(recorded.times_us.at(from))};
  return json::serialize(json::object{{"do", "play"},
                                      {"slot", 900},
                                      {"camera", "anvil"},
                                      {"at", base::to_rfc3339(at)},
                                      {"speed", speed},
                                      {"width_px", 0}});
}

TEST(Playback, ForwardShowsWhatWasRecordedInOrderAndTellsTheEnd) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 30);
  Page page(hall, hall.owner());
  page.send(play(recorded, 0, 0.25));
  EXPECT_EQ(page.text("playing").at("speed"), 0.25);
  const json::object end = page.text("end");
  EXPECT_EQ(end.at("reason"), "end");
  ASSERT_GE(page.pictures.size(), 20U);
  std::int64_t before = 0;
  for (const Picture& picture : page.pictures) {
    EXPECT_EQ(picture.kind, 2);
    EXPECT_EQ(picture.slot, 900);
    EXPECT_GT(picture.time_us, before);
    before = picture.time_us;
    const auto found = std::find(recorded.times_us.begin(), recorded.times_us.end(), picture.time_us);
    ASSERT_NE(found, recorded.times_us.end());
    EXPECT_TRUE(picture.jpeg == recorded.jpegs[static_cast<std::size_t>(found - recorded.times_us.begin())]);
  }
  EXPECT_EQ(page.pictures.back().time_us, recorded.times_us.back());
}

TEST(Playback, BackwardEndsAtTheStart) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 20);
  Page page(hall, hall.owner());
  page.send(play(recorded, 19, -0.5));
  const json::object end = page.text("end");
  EXPECT_EQ(end.at("reason"), "start");
  EXPECT_EQ(page.pictures.back().time_us, recorded.times_us.front());
  for (std::size_t i = 1; i < page.pictures.size(); ++i) {
    EXPECT_LT(page.pictures[i].time_us, page.pictures[i - 1].time_us);
  }
}

TEST(Playback, StepsFrameByFrameBothWays) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 12);
  Page page(hall, hall.owner());
  page.send(play(recorded, 5, 0.01));
  page.text("playing");
  page.send(R"({"do":"pause","slot":900})");
  page.text("paused");
  const auto step = [&](int frames) {
    page.pictures.clear();
    page.send(fmt::format(R"({{"do":"step","slot":900,"frames":{}}})", frames));
    page.text("paused");
    return page.pictures.empty() ? -1 : page.pictures.back().time_us;
  };
  EXPECT_EQ(step(1), recorded.times_us[6]);
  EXPECT_EQ(step(1), recorded.times_us[7]);
  EXPECT_EQ(step(-1), recorded.times_us[6]);
  EXPECT_EQ(step(-4), recorded.times_us[2]);
  EXPECT_EQ(step(100), recorded.times_us[11]);
  page.send(R"({"do":"step","slot":900,"frames":1})");
  EXPECT_EQ(page.text("end").at("reason"), "end");
}

TEST(Playback, WaitsForAcknowledgementsAndNeverQueues) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 20);
  Page page(hall, hall.owner());
  page.send(play(recorded, 0, 1));
  ASSERT_TRUE(page.picture());
  // Until all of them are due.
  const auto shown = hall.station().clock().wall();
  const base::Microseconds span(recorded.times_us.back() - recorded.times_us.front());
  WebStation::eventually([&] { return hall.station().clock().wall() - shown > 2 * span; });
  EXPECT_TRUE(page.is_silent());
}

TEST(Playback, WhereNothingIsRecordedSaysSo) {
  WebStation hall;
  hall.add_camera("anvil");
  Page page(hall, hall.owner());
  page.send(R"({"do":"play","slot":1,"camera":"anvil","at":"2026-03-01T12:00:00Z","speed":1,"width_px":0})");
  EXPECT_EQ(page.text("end").at("reason"), "nothing recorded");
  page.send(R"({"do":"play","slot":1,"camera":"none","at":"2026-03-01T12:00:00Z","speed":1,"width_px":0})");
  EXPECT_EQ(page.text("problem").at("slot"), 1);
}

TEST(Playback, BeforeTheFirstFrameIsAGap) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 5);
  Page page(hall, hall.owner());
  page.send(
      R"({"do":"play","slot":900,"camera":"anvil","at":"2020-01-01T00:00:00Z","speed":1,"width_px":0})");
  const json::object gap = page.text("gap");
  EXPECT_EQ(gap.at("from"), "2020-01-01T00:00:00.000Z");
  EXPECT_EQ(page.text("playing").at("at"), gap.at("to"));
}

// What the command line says of a film it makes, the station says of its own.
TEST(Recorded, ALapseTellsWhetherItWasChosenSteadiedAndQuieted) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 10);
  const auto text = [](std::int64_t us) { return base::to_rfc3339(base::WallTime{base::Microseconds(us)}); };
  const json::object request{{"camera", "anvil"},
                             {"from", text(recorded.times_us.front())},
                             {"to", text(recorded.times_us.back() + 1000)},
                             {"length_s", 30}};
  const Answer started = hall.ask("POST", "/api/v1/lapses", hall.owner(), json::serialize(request));
  ASSERT_EQ(started.status, 202U) << started.body;
  json::object state;
  ASSERT_TRUE(WebStation::eventually([&] {
    state = hall.ask("GET", started.field("Location"), hall.owner()).json();
    return state.at("state") == "done" || state.at("state") == "failed";
  }));
  ASSERT_EQ(state.at("state"), "done") << json::serialize(state);
  const json::object& lapse = state.at("lapse").as_object();
  EXPECT_EQ(lapse.at("wanted"), 750);
  EXPECT_EQ(lapse.at("pictures"), 10);
  EXPECT_EQ(lapse.at("chosen"), false) << "ten pictures are no choice for 750 frames";
  EXPECT_EQ(lapse.at("steady"), false);
  EXPECT_EQ(lapse.at("quieted"), 0) << "nothing lies beside a picture where each is shown";
  EXPECT_EQ(lapse.at("remark"), "");
}

TEST(Recorded, StillAndExportCarryTheBytesThatWereRecorded) {
  WebStation hall;
  hall.add_camera("anvil", true);
  const Recorded recorded = record(hall, 10);
  const auto text = [](std::int64_t us) { return base::to_rfc3339(base::WallTime{base::Microseconds(us)}); };
  const Answer still =
      hall.ask("GET", "/api/v1/cameras/anvil/recorded.jpg?at=" + text(recorded.times_us[4]), hall.owner());
  EXPECT_EQ(still.status, 200U);
  EXPECT_TRUE(still.body == recorded.jpegs[4]);
  EXPECT_EQ(still.field("X-Recorded"), text(recorded.times_us[4]));
  EXPECT_EQ(
      hall.ask("GET", "/api/v1/cameras/anvil/recorded.jpg?at=2020-01-01T00:00:00Z", hall.owner()).status,
      404U);

  const json::object request{{"camera", "anvil"},
                             {"from", text(recorded.times_us.front())},
                             {"to", text(recorded.times_us.back() + 1000)},
                             {"format", "matroska"}};
  const Answer started = hall.ask("POST", "/api/v1/exports", hall.owner(), json::serialize(request));
  ASSERT_EQ(started.status, 202U) << started.body;
  const std::string address = started.field("Location");
  json::object state;
  ASSERT_TRUE(WebStation::eventually([&] {
    state = hall.ask("GET", address, hall.owner()).json();
    return state.at("state") == "done" || state.at("state") == "failed";
  }));
  ASSERT_EQ(state.at("state"), "done") << json::serialize(state);
  const Answer whole = hall.ask("GET", address + "/file", hall.owner());
  EXPECT_EQ(whole.status, 200U);
  EXPECT_NE(whole.field("Content-Disposition").find("attachment"), std::string::npos);
  EXPECT_TRUE(whole.body.find(recorded.jpegs[4]) != std::string::npos);
  const Answer part = hall.ask("GET", address + "/file", hall.owner(), {}, {{"Range", "bytes=10-29"}});
  EXPECT_EQ(part.status, 206U);
  EXPECT_EQ(part.body, whole.body.substr(10, 20));
  EXPECT_EQ(part.field("Content-Range"), fmt::format("bytes 10-29/{}", whole.body.size()));
  EXPECT_EQ(hall.ask("GET", address + "/file", hall.owner(), {}, {{"Range", "bytes=99999999-"}}).status,
            416U);
  const std::string other = hall.add_person("Ines", archive::Role::owner);
  EXPECT_EQ(hall.ask("GET", address + "/file", other).status, 404U);
  EXPECT_EQ(hall.ask("DELETE", address, hall.owner()).status, 204U);
  EXPECT_EQ(hall.ask("GET", address, hall.owner()).status, 404U);
}

}  // namespace
}  // namespace rookery::test
