#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

namespace beast = boost::beast;
namespace json = boost::json;
namespace websocket = boost::beast::websocket;

struct Picture {
  int kind = 0;
  int slot = 0;
  std::uint32_t serial = 0;
  std::int64_t time_us = 0;
  int width = 0;
  int height = 0;
  std::string jpeg;
};

std::uint64_t big_endian(std::string_view bytes) {
  std::uint64_t value = 0;
  for (const char byte : bytes) value = value << 8 | static_cast<unsigned char>(byte);
  return value;
}

Picture read_picture(std::string_view message) {
  Picture out;
  if (message.size() <= 20) {
    ADD_FAILURE() << "a picture without a JPEG";
    return out;
  }
  EXPECT_EQ(message[0], 1);
  out.kind = message[1];
  out.slot = static_cast<int>(big_endian(message.substr(2, 2)));
  out.serial = static_cast<std::uint32_t>(big_endian(message.substr(4, 4)));
  out.time_us = static_cast<std::int64_t>(big_endian(message.substr(8, 8)));
  out.width = static_cast<int>(big_endian(message.substr(16, 2)));
  out.height = static_cast<int>(big_endian(message.substr(18, 2)));
  out.jpeg = message.substr(20);
  return out;
}

// A page, as far as its WebSocket is concerned.
class Page {
 public:
  Page(WebStation& hall, const std::string& session, std::string origin = {},
       std::string protocol = "rookery.v1")
      : ws_(io_) {
    auto& lowest = beast::get_lowest_layer(ws_);
    lowest.socket().connect(hall.endpoint());
    if (origin.empty()) origin = "http://" + hall.host();
    ws_.set_option(websocket::stream_base::decorator([=](websocket::request_type& request) {
      request.set(http::field::origin, origin);
      request.set(http::field::cookie, "rookery_session=" + session);
      if (!protocol.empty()) request.set(http::field::sec_websocket_protocol, protocol);
    }));
    ws_.read_message_max(0);
    lowest.expires_after(kDeadline);
    ws_.async_handshake(answer_, hall.host(), "/api/v1/socket", [this](auto error) { error_ = error; });
    io_.run();
    lowest.expires_never();
  }

  unsigned status() const { return answer_.result_int(); }
  std::string_view chosen_protocol() const {
    const auto text = answer_[http::field::sec_websocket_protocol];
    return {text.data(), text.size()};
  }

  void send(std::string_view text) {
    bool sent = false;
    ws_.async_write(asio::buffer(text.data(), text.size()), [&](auto error, std::size_t) {
      sent = true;
      if (error) error_ = error;
    });
    run_until([&] { return sent; }, kDeadline);
  }
  // The next message; empty when the connection ended or nothing came within `limit`.
  std::string next(std::chrono::milliseconds limit = kDeadline) {
    if (!reading_ && messages_.empty() && !error_) read();
    run_until([this] { return !messages_.empty() || error_; }, limit);
    if (messages_.empty()) return {};
    auto [was_text, message] = std::move(messages_.front());
    messages_.pop_front();
    was_text_ = was_text;
    return message;
  }
  // The next picture, leaving texts aside; nothing within `limit`.
  std::optional<Picture> picture(std::chrono::milliseconds limit = kDeadline) {
    for (;;) {
      const std::string message = next(limit);
      if (message.empty()) return std::nullopt;
      if (!was_text_) return read_picture(message);
      texts_.push_back(json::parse(message).as_object());
    }
  }
  // The next text that is `what`; pictures meanwhile are acknowledged and kept.
  json::object text(std::string_view what) {
    for (;;) {
      for (auto it = texts_.begin(); it != texts_.end(); ++it) {
        if (it->at("is").as_string() != json::string_view(what.data(), what.size())) continue;
        json::object found = *it;
        texts_.erase(texts_.begin(), it + 1);
        return found;
      }
      const std::string message = next();
      if (message.empty()) {
        ADD_FAILURE() << "no \"" << what << "\" came";
        return {};
      }
      if (was_text_) {
        texts_.push_back(json::parse(message).as_object());
      } else {
        pictures.push_back(read_picture(message));
        acknowledge(pictures.back().serial);
      }
    }
  }
  void acknowledge(std::uint32_t serial) { send(fmt::format(R"({{"do":"ack","serial":{}}})", serial)); }
  // The close code; 0 when the connection did not end.
  unsigned closed() {
    while (!next().empty()) {
    }
    return error_ == websocket::error::closed ? static_cast<unsigned>(ws_.reason().code) : 0;
  }

  std::vector<Picture> pictures;

 private:
  void read() {
    reading_ = true;
    ws_.async_read(buffer_, [this](auto error, std::size_t) {
      reading_ = false;
      if (error) {
        error_ = error;
        return;
      }
      messages_.emplace_back(ws_.got_text(), beast::buffers_to_string(buffer_.data()));
      buffer_.consume(buffer_.size());
    });
  }
  template <class Done>
  void run_until(Done done, std::chrono::milliseconds limit) {
    const auto end = std::chrono::steady_clock::now() + limit;
    io_.restart();
    while (!done() && io_.run_one_until(end) > 0) {
    }
  }

  asio::io_context io_;
  websocket::stream<beast::tcp_stream> ws_;
  websocket::response_type answer_;
  beast::flat_buffer buffer_;
  beast::error_code error_;  // of the connection; what is said on a broken one is lost
  bool reading_ = false;
  std::deque<std::pair<bool, std::string>> messages_;  // is it text, and what it says
  bool was_text_ = false;
  std::deque<json::object> texts_;
};

std::string show(std::initializer_list<std::pair<std::string_view, int>> list, int width = 0) {
  json::array cameras;
  for (const auto& [camera, slot] : list) {
    cameras.push_back(json::object{{"camera", camera}, {"slot", slot}, {"width_px", width}});
  }
  return json::serialize(json::object{{"do", "show"}, {"cameras", std::move(cameras)}});
}

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
  EXPECT_FALSE(page.picture(std::chrono::milliseconds{300}));  // not acknowledged: nothing more
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
  EXPECT_FALSE(page.picture(std::chrono::milliseconds{300}));
  page.acknowledge(1);
  const auto next = page.picture();
  ASSERT_TRUE(next);
  EXPECT_EQ(next->serial, 33U);
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
  EXPECT_FALSE(page.picture(std::chrono::milliseconds{200}));
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
  EXPECT_FALSE(page.picture(std::chrono::milliseconds{400}));
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
