// A station with its door open on loopback, cameras that the test pushes pictures to, and callers with
// deadlines.
#pragma once

#include <thread>

#include <boost/asio.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket.hpp>
#include <boost/json.hpp>

#include <gtest/gtest.h>

#include "archive/playback.h"
#include "base/log.h"
#include "jpeg/walk.h"
#include "station/station.h"
#include "tests/support/home_folder.h"
#include "tests/support/picture.h"
#include "tests/web/described.h"
#include "web/server.h"

namespace rookery::test {

namespace asio = boost::asio;
namespace http = boost::beast::http;
using Fields = std::vector<std::pair<std::string, std::string>>;

inline constexpr std::chrono::seconds kDeadline{20};

struct Answer {
  unsigned status = 0;
  http::fields fields;
  std::string body;

  std::string field(std::string_view name) const { return std::string(fields[name]); }
  boost::json::object json() const { return boost::json::parse(body).as_object(); }
  std::string code() const { return std::string(json().at("code").as_string()); }
};

// One connection to the station, with a deadline on everything. Fails the test rather than hang.
class Line {
 public:
  explicit Line(asio::ip::tcp::endpoint endpoint, int receive_buffer_bytes = 0) : stream_(io_) {
    auto& socket = stream_.socket();
    socket.open(endpoint.protocol());
    if (receive_buffer_bytes > 0)
      socket.set_option(asio::socket_base::receive_buffer_size(receive_buffer_bytes));
    socket.connect(endpoint);
  }

  void send(std::string_view text) {
    run([&](auto&& done) { asio::async_write(stream_, asio::buffer(text.data(), text.size()), done); });
  }
  // One whole answer; `head_only` for answers to HEAD.
  Answer receive(bool head_only = false) {
    http::response_parser<http::string_body> parser;
    parser.body_limit(64u << 20);
    parser.skip(head_only);
    run([&](auto&& done) { http::async_read(stream_, buffer_, parser, done); });
    Answer answer;
    answer.status = parser.get().result_int();
    answer.fields = parser.get().base();
    answer.body = std::move(parser.get().body());
    return answer;
  }
  // Exactly so many bytes, or fewer when the station ended the connection.
  std::string receive_bytes(std::size_t count) {
    last_error_ = {};
    while (buffer_.size() < count && !last_error_) {
      std::size_t came = 0;
      run([&](auto&& done) {
        stream_.async_read_some(buffer_.prepare(65536), [&came, done](auto error, std::size_t bytes) {
          came = bytes;
          done(error, bytes);
        });
      });
      buffer_.commit(came);
    }
    count = std::min(count, buffer_.size());
    std::string out(static_cast<const char*>(buffer_.data().data()), count);
    buffer_.consume(count);
    return out;
  }
  // Up to and with `mark`, or what came until the end.
  std::string receive_until(std::string_view mark) {
    std::string out;
    while (!out.ends_with(mark)) {
      const std::string one = receive_bytes(1);
      if (one.empty()) break;
      out += one;
    }
    return out;
  }
  // True when the station ends the connection before the deadline; what came before is thrown away.
  bool ends() {
    do {
      receive_bytes(4096);
    } while (!last_error_);
    return last_error_ != boost::beast::error::timeout;
  }
  void half_close() { stream_.socket().shutdown(asio::ip::tcp::socket::shutdown_send); }
  boost::system::error_code last_error() const { return last_error_; }

 private:
  template <class Start>
  void run(Start start) {
    stream_.expires_after(kDeadline);
    start([this](boost::system::error_code error, std::size_t) { last_error_ = error; });
    io_.restart();
    io_.run();
  }

  asio::io_context io_;
  boost::beast::tcp_stream stream_;
  boost::beast::flat_buffer buffer_;
  boost::system::error_code last_error_;
};

class WebStation {
 public:
  // clock: by which sessions end and tries are counted; borrowed. Null: the computer's.
  explicit WebStation(std::function<void(web::ServerOptions&)> adjust = nullptr,
                      const base::Clock* clock = nullptr)
      : clock_(clock != nullptr ? *clock : system_clock_), work_(io_.get_executor()) {
    station::StationOptions options;
    options.home = home_.path();
    options.seed = 1;
    options.recorder.keep_free_bytes = 0;
    auto opened = station::Station::open(io_, options, clock_);
    if (!opened) throw std::runtime_error(opened.error().text());
    station_ = std::move(*opened);
    web::ServerOptions server;
    server.listen = {{asio::ip::address_v4::loopback(), 0}};
    server.page_dir = home_.path() / "page";
    server.limits.tick = std::chrono::milliseconds{50};
    server.limits.grace = std::chrono::milliseconds{500};
    if (adjust) adjust(server);
    server_ = std::make_unique<web::Server>(io_, *station_, server);
    for (int i = 0; i < 2; ++i) threads_.emplace_back([this] { io_.run(); });
    const auto started = server_->start();
    if (!started) throw std::runtime_error(started.error().text());
    station_->set_listening({{"127.0.0.1", endpoint().port()}});
    station_->start();
    owner_ = add_person("Marta", archive::Role::owner);
  }
  ~WebStation() {
    server_->stop();
    station_->stop();
    server_.reset();
    station_.reset();
    work_.reset();
    for (std::thread& thread : threads_) thread.join();
  }

  station::Station& station() { return *station_; }
  web::Server& server() { return *server_; }
  const std::filesystem::path& home() const { return home_.path(); }
  asio::ip::tcp::endpoint endpoint() const { return server_->local_endpoint(); }
  std::string host() const { return fmt::format("127.0.0.1:{}", endpoint().port()); }
  const std::string& owner() const { return owner_; }  // session secret

  // A person with a session; returns the session's secret.
  std::string add_person(const std::string& name, archive::Role role,
                         std::optional<std::set<base::CameraName>> cameras = {}) {
    auto person = station_->people().add(name, role, "a long password", std::move(cameras));
    if (!person) throw std::runtime_error(person.error().text());
    return station_->people()
        .open_session(person->id, clock_.wall(), clock_.wall() + std::chrono::hours{1})
        .value();
  }
  static base::CameraName name(std::string_view text) { return base::CameraName::parse(text).value(); }

  // A camera that the test pushes pictures to.
  void add_camera(std::string_view text, bool recording = false) {
    camera::Settings settings(name(text));
    settings.source = camera::Source::pushed;
    settings.record = recording ? camera::Record::always : camera::Record::never;
    const auto added = station_->add(settings);
    if (!added) throw std::runtime_error(added.error().text());
  }
  void push(std::string_view camera, const std::vector<std::byte>& jpeg) {
    const auto pushed = station_->push(name(camera), jpeg);
    if (!pushed) throw std::runtime_error(pushed.error().text());
  }

  // One request on a connection of its own, signed in with `session` when that is not empty, and as the page
  // would send it.
  Answer ask(std::string_view method, std::string_view target, const std::string& session = {},
             std::string_view body = {}, const Fields& more = {}) {
    Line line(endpoint());
    line.send(request_text(method, target, session, body, more));
    Answer answer = line.receive(method == "HEAD");
    expect_described(method, target, answer.status, answer.field("Content-Type"), answer.body);
    return answer;
  }
  std::string request_text(std::string_view method, std::string_view target, const std::string& session,
                           std::string_view body, const Fields& more) const {
    std::string text = fmt::format("{} {} HTTP/1.1\r\nHost: {}\r\n", method, target, host());
    if (!session.empty()) text += fmt::format("Cookie: rookery_session={}\r\n", session);
    bool origin = false;
    for (const auto& [field, value] : more) {
      if (field == "Origin" || field == "Sec-Fetch-Site") origin = true;
      if (!value.empty()) text += fmt::format("{}: {}\r\n", field, value);
    }
    if (!origin && method != "GET") text += fmt::format("Origin: http://{}\r\n", host());
    if (!body.empty())
      text += fmt::format("Content-Type: application/json\r\nContent-Length: {}\r\n", body.size());
    return text + "\r\n" + std::string(body);
  }

  // Looks again and again until `done`, up to the deadline.
  template <class Done>
  static bool eventually(Done done) {
    const auto end = std::chrono::steady_clock::now() + kDeadline;
    while (std::chrono::steady_clock::now() < end) {
      if (done()) return true;
      std::this_thread::yield();
    }
    return false;
  }

 private:
  support::HomeFolder home_;
  const base::SystemClock system_clock_;
  const base::Clock& clock_;
  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::unique_ptr<station::Station> station_;
  std::unique_ptr<web::Server> server_;
  std::vector<std::thread> threads_;
  std::string owner_;
};

// What a person's program reads of a motion-JPEG stream: part after part.
struct StreamPart {
  std::string head;
  std::string jpeg;
};
inline StreamPart receive_part(Line& line) {
  StreamPart part;
  line.receive_until("\r\n");  // the boundary
  part.head = line.receive_until("\r\n\r\n");
  const std::size_t at = part.head.find("Content-Length: ");
  if (at == std::string::npos) return part;
  part.jpeg = line.receive_bytes(std::stoul(part.head.substr(at + 16)));
  line.receive_bytes(2);
  return part;
}
inline std::string text_of(const std::vector<std::byte>& bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

}  // namespace rookery::test
