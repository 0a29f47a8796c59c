#include "tests/web/web_station.h"

#include <ctime>
#include <iomanip>
#include <sstream>

namespace rookery::test {
namespace {

namespace json = boost::json;

std::string new_token(WebStation& hall, std::string_view camera, archive::TokenUse use) {
  return hall.station()
      .people()
      .new_token(WebStation::name(camera), "test", use, hall.station().clock().wall())
      .value()
      .secret;
}

// A viewer of a stream, past the answer's head and the first boundary's line.
std::unique_ptr<Line> watch(WebStation& hall, const std::string& target, const std::string& session,
                            int receive_buffer_bytes = 0) {
  auto line = std::make_unique<Line>(hall.endpoint(), receive_buffer_bytes);
  line->send(hall.request_text("GET", target, session, {}, {}));
  const std::string head = line->receive_until("\r\n\r\n");
  EXPECT_TRUE(head.starts_with("HTTP/1.1 200 ")) << head;
  EXPECT_EQ(head.find("Transfer-Encoding"), std::string::npos);
  return line;
}

TEST(LiveJpg, IsTheNewestStillWithATagThatSavesTheNextOne) {
  WebStation hall;
  hall.add_camera("anvil");
  const Answer early = hall.ask("GET", "/live/anvil.jpg", hall.owner());
  EXPECT_EQ(early.status, 503U);
  EXPECT_EQ(early.field("Retry-After"), "2");
  const auto first = make_picture(640, 480, 1);
  hall.push("anvil", first);
  const Answer still = hall.ask("GET", "/live/anvil.jpg", hall.owner());
  EXPECT_EQ(still.status, 200U);
  EXPECT_TRUE(still.body == text_of(first));
  EXPECT_EQ(still.field("Content-Type"), "image/jpeg");
  EXPECT_TRUE(base::parse_rfc3339(still.field("X-Arrived")));
  const Fields same{{"If-None-Match", still.field("ETag")}};
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", hall.owner(), {}, same).status, 304U);
  hall.push("anvil", make_picture(640, 480, 2));
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", hall.owner(), {}, same).status, 200U);
  const Answer head = hall.ask("HEAD", "/live/anvil.jpg", hall.owner());
  EXPECT_EQ(head.status, 200U);
  EXPECT_TRUE(head.body.empty());
}

// RFC 9110, 5.6.7 and 13.1.3. A second holds many pictures: its date tells when a picture came, and cannot
// tell whether it is still the newest one.
TEST(LiveJpg, TellsTheSecondItCameAndIsNotHeldBackByIt) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.push("anvil", make_picture(640, 480, 1));
  const Answer first = hall.ask("GET", "/live/anvil.jpg", hall.owner());
  const std::string date = first.field("Last-Modified");
  std::tm parts{};
  std::istringstream text(date);
  text >> std::get_time(&parts, "%a, %d %b %Y %H:%M:%S GMT");
  ASSERT_FALSE(text.fail()) << date;
  EXPECT_EQ(date.size(), 29U) << date;
  const auto arrived = base::parse_rfc3339(first.field("X-Arrived"));
  ASSERT_TRUE(arrived);
  EXPECT_EQ(::timegm(&parts), std::chrono::floor<std::chrono::seconds>(*arrived).time_since_epoch().count());

  const auto second = make_picture(640, 480, 2);
  hall.push("anvil", second);
  const Fields not_since{{"If-Modified-Since", date}};
  const Answer next = hall.ask("GET", "/live/anvil.jpg", hall.owner(), {}, not_since);
  EXPECT_EQ(next.status, 200U);
  EXPECT_TRUE(next.body == text_of(second));
  // With both, only the tag counts.
  const Fields both{{"If-Modified-Since", date}, {"If-None-Match", next.field("ETag")}};
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", hall.owner(), {}, both).status, 304U);
  const Fields old_tag{{"If-Modified-Since", date}, {"If-None-Match", first.field("ETag")}};
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", hall.owner(), {}, old_tag).status, 200U);
}

TEST(LiveJpg, ComesAtTheWidthAskedFor) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.push("anvil", make_picture(1280, 960, 1));
  const Answer small = hall.ask("GET", "/live/anvil.jpg?width=300", hall.owner());
  ASSERT_EQ(small.status, 200U);
  const auto* bytes = reinterpret_cast<const std::byte*>(small.body.data());
  const auto walked = jpeg::walk({bytes, small.body.size()});
  ASSERT_TRUE(std::holds_alternative<jpeg::PictureInfo>(walked));
  EXPECT_EQ(std::get<jpeg::PictureInfo>(walked).width_px, 320);
  for (const char* bad : {"0", "-5", "x", "9000", "320px", ""}) {
    EXPECT_EQ(hall.ask("GET", std::string("/live/anvil.jpg?width=") + bad, hall.owner()).status, 422U) << bad;
  }
}

TEST(LiveMjpeg, BringsEveryFrameByteForByte) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto line = watch(hall, "/live/anvil.mjpeg", hall.owner());
  for (unsigned number = 0; number < 20; ++number) {
    const auto jpeg = make_picture(320, 240, number);
    hall.push("anvil", jpeg);
    const StreamPart part = receive_part(*line);
    EXPECT_NE(part.head.find("Content-Type: image/jpeg\r\n"), std::string::npos);
    EXPECT_NE(part.head.find("X-Arrived: "), std::string::npos);
    ASSERT_TRUE(part.jpeg == text_of(jpeg)) << number;
  }
}

TEST(LiveMjpeg, AStalledViewerDelaysNobody) {
  WebStation hall([](web::ServerOptions& options) { options.limits.send_buffer_bytes = 4096; });
  hall.add_camera("anvil");
  const auto stalled = watch(hall, "/live/anvil.mjpeg", hall.owner(), 4096);  // never reads again
  const auto fast = watch(hall, "/live/anvil.mjpeg", hall.owner());
  constexpr unsigned kFrames = 300;
  for (unsigned number = 0; number < kFrames; ++number) {
    const auto jpeg = make_picture(320, 240, number);
    hall.push("anvil", jpeg);
    ASSERT_TRUE(receive_part(*fast).jpeg == text_of(jpeg)) << number;
  }
  EXPECT_EQ(hall.station().camera(WebStation::name("anvil"))->status.counters.published, kFrames);
}

TEST(LiveMjpeg, WhatASlowViewerSkipsIsCounted) {
  WebStation hall([](web::ServerOptions& options) { options.limits.send_buffer_bytes = 4096; });
  hall.add_camera("anvil");
  const auto slow = watch(hall, "/live/anvil.mjpeg", hall.owner(), 4096);
  constexpr unsigned kFrames = 50;
  for (unsigned number = 0; number < kFrames; ++number)
    hall.push("anvil", make_picture(640, 480, number, 95));
  // It wakes up: the next picture that it is ready for is the last, and those between are told as skipped.
  std::string last;
  while (last != text_of(make_picture(640, 480, kFrames - 1, 95)) && !testing::Test::HasFailure()) {
    last = receive_part(*slow).jpeg;
    ASSERT_FALSE(last.empty());
  }
  const json::object status =
      hall.ask("GET", "/api/v1/cameras/anvil", hall.owner()).json().at("status").as_object();
  const auto skipped = status.at("viewers_skipped").to_number<unsigned>();
  EXPECT_GT(skipped, kFrames / 2);
  EXPECT_LT(skipped, kFrames);
  EXPECT_NE(
      hall.ask("GET", "/metrics", hall.owner())
          .body.find(fmt::format("rookery_viewer_frames_skipped_total{{camera=\"anvil\"}} {}\n", skipped)),
      std::string::npos);
}

TEST(LiveMjpeg, AViewerWhoTakesNothingIsCut) {
  WebStation hall([](web::ServerOptions& options) {
    options.limits.send_buffer_bytes = 4096;
    options.limits.stalled = std::chrono::milliseconds{200};
  });
  hall.add_camera("anvil");
  const auto stalled = watch(hall, "/live/anvil.mjpeg", hall.owner(), 4096);
  ASSERT_TRUE(WebStation::eventually([&] { return hall.server().connections() == 1; }));
  const auto jpeg = make_picture(640, 480, 1, 95);
  EXPECT_TRUE(WebStation::eventually([&] {
    hall.push("anvil", jpeg);
    return hall.server().connections() == 0;
  }));
}

TEST(LiveMjpeg, AHalfClosedViewerStillWatches) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto line = watch(hall, "/live/anvil.mjpeg", hall.owner());
  line->half_close();
  for (unsigned number = 0; number < 5; ++number) {
    const auto jpeg = make_picture(320, 240, number);
    hall.push("anvil", jpeg);
    ASSERT_TRUE(receive_part(*line).jpeg == text_of(jpeg));
  }
}

TEST(LiveMjpeg, AViewerWhoLeftIsNoticedWithoutAFrame) {
  WebStation hall(
      [](web::ServerOptions& options) { options.limits.stalled = std::chrono::milliseconds{200}; });
  hall.add_camera("anvil");
  auto line = watch(hall, "/live/anvil.mjpeg", hall.owner());
  line.reset();
  EXPECT_TRUE(WebStation::eventually([&] { return hall.server().connections() == 0; }));
}

TEST(LiveMjpeg, EndsWhenTheCameraIsForgotten) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto line = watch(hall, "/live/anvil.mjpeg", hall.owner());
  ASSERT_TRUE(hall.station().remove(WebStation::name("anvil")));
  EXPECT_TRUE(line->ends());
}

TEST(Token, OpensItsCameraOnlyAndOnlyForItsUse) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("bobbin");
  const auto jpeg = make_picture(320, 240, 1);
  hall.push("anvil", jpeg);
  const std::string token = new_token(hall, "anvil", archive::TokenUse::watch);
  EXPECT_TRUE(hall.ask("GET", "/live/anvil.jpg?token=" + token).body == text_of(jpeg));
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", {}, {}, {{"Authorization", "bearer " + token}}).status, 200U);
  EXPECT_EQ(hall.ask("GET", "/live/bobbin.jpg?token=" + token).status, 401U);
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg?token=" + token + "x").status, 401U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/cameras?token=" + token).status, 401U);
  const Answer push = hall.ask("POST", "/api/v1/cameras/anvil/stills?token=" + token, {}, text_of(jpeg));
  EXPECT_EQ(push.status, 401U);
  EXPECT_EQ(push.body.find(token), std::string::npos);
}

TEST(Token, ThatMayPushBringsStillsAndBrokenOnesAreTold) {
  WebStation hall;
  hall.add_camera("kiln");
  const std::string token = new_token(hall, "kiln", archive::TokenUse::push);
  const auto jpeg = make_picture(320, 240, 1);
  const std::string address = "/api/v1/cameras/kiln/stills?token=" + token;
  EXPECT_EQ(hall.ask("POST", address, {}, text_of(jpeg)).status, 204U);
  EXPECT_TRUE(hall.ask("GET", "/live/kiln.jpg", hall.owner()).body == text_of(jpeg));
  EXPECT_EQ(hall.ask("GET", "/live/kiln.jpg?token=" + token).status, 401U);
  const Answer cut = hall.ask("POST", address, {}, text_of(jpeg).substr(0, jpeg.size() / 2));
  EXPECT_EQ(cut.status, 422U);
  Line line(hall.endpoint());  // curl asks before it sends a large body
  line.send(fmt::format("POST {} HTTP/1.1\r\nHost: {}\r\nExpect: 100-continue\r\nContent-Length: {}\r\n\r\n",
                        address, hall.host(), jpeg.size()));
  EXPECT_TRUE(line.receive_until("\r\n\r\n").starts_with("HTTP/1.1 100 "));
  line.send(text_of(jpeg));
  EXPECT_EQ(line.receive().status, 204U);
}

TEST(Token, RevokedEndsTheStreamThatItOpened) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string token = new_token(hall, "anvil", archive::TokenUse::watch);
  const auto line = watch(hall, "/live/anvil.mjpeg?token=" + token, {});
  const auto tokens = hall.station().people().list_tokens(WebStation::name("anvil")).value();
  EXPECT_EQ(
      hall.ask("DELETE", fmt::format("/api/v1/cameras/anvil/tokens/{}", tokens.front().id), hall.owner())
          .status,
      204U);
  EXPECT_TRUE(line->ends());
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg?token=" + token).status, 401U);
}

TEST(Session, SignedOutEndsItsStreams) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto line = watch(hall, "/live/anvil.mjpeg", hall.owner());
  EXPECT_EQ(hall.ask("POST", "/api/v1/sign-out", hall.owner()).status, 204U);
  EXPECT_TRUE(line->ends());
}

TEST(Token, NeverReachesTheLog) {
  WebStation hall;
  hall.add_camera("anvil");
  base::set_log_level(base::LogLevel::debug);
  testing::internal::CaptureStderr();
  hall.ask("GET", "/live/anvil.jpg?token=abcdefgh-secret-abcdefgh");
  hall.ask("GET", "/live/anvil.mjpeg?width=5&token=abcdefgh-secret-abcdefgh");
  hall.ask("GET", "/nothing/at/all?token=abcdefgh-secret-abcdefgh");
  const std::string log = testing::internal::GetCapturedStderr();
  base::set_log_level(base::LogLevel::info);
  EXPECT_NE(log.find("/live/anvil.jpg?token=***"), std::string::npos) << log;
  EXPECT_EQ(log.find("secret"), std::string::npos);
}

TEST(Server, StopEndsStreamsAndReturns) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto line = watch(hall, "/live/anvil.mjpeg", hall.owner());
  hall.server().stop();
  EXPECT_TRUE(line->ends());
  EXPECT_EQ(hall.server().connections(), 0U);
}

}  // namespace
}  // namespace rookery::test
