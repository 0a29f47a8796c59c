// A page as far as its WebSocket is concerned, for tests.
#pragma once

#include <deque>
#include <optional>
#include <string>

#include "tests/web/web_station.h"

namespace rookery::test {

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

inline std::uint64_t big_endian(std::string_view bytes) {
  std::uint64_t value = 0;
  for (const char byte : bytes) value = value << 8 | static_cast<unsigned char>(byte);
  return value;
}

inline Picture read_picture(std::string_view message) {
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
       std::string protocol = "rookery.v1", int receive_buffer_bytes = 0)
      : ws_(io_) {
    auto& lowest = beast::get_lowest_layer(ws_);
    lowest.socket().open(asio::ip::tcp::v4());
    if (receive_buffer_bytes > 0)
      lowest.socket().set_option(asio::socket_base::receive_buffer_size(receive_buffer_bytes));
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
  // Whether the station has no picture to send just now: what it answers to a question overtakes nothing.
  bool is_silent() {
    constexpr int kUnused = 65000;
    send(fmt::format(R"({{"do":"pause","slot":{}}})", kUnused));
    for (;;) {
      const std::string message = next();
      if (message.empty() || !was_text_) return false;
      texts_.push_back(json::parse(message).as_object());
      const auto* slot = texts_.back().if_contains("slot");
      if (slot == nullptr || slot->to_number<int>() != kUnused) continue;
      texts_.pop_back();
      return true;
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

inline std::string show(std::initializer_list<std::pair<std::string_view, int>> list, int width = 0) {
  json::array cameras;
  for (const auto& [camera, slot] : list) {
    cameras.push_back(json::object{{"camera", camera}, {"slot", slot}, {"width_px", width}});
  }
  return json::serialize(json::object{{"do", "show"}, {"cameras", std::move(cameras)}});
}

}  // namespace rookery::test
