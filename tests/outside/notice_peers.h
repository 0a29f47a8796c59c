// What the tests of notices share: keys, notices, servers that misbehave.
#pragma once

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/json/parse.hpp>
#include <thread>

#include "notices/sender.h"
#include "tests/outside/pull_program.h"
#include "tests/support/eventually.h"
#include "tests/support/needs.h"
#include "tests/support/program.h"
#include "tests/support/temp_folder.h"

namespace rookery::notices::test {

using rookery::test::Background;
using rookery::test::free_port;
using rookery::test::run_program;
using namespace std::chrono_literals;

// A certificate for localhost that nobody else believes, and its key.
class Keys {
 public:
  Keys() {
    const auto made = run_program({"openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj",
                                   "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1",
                                   "-days", "2", "-keyout", key(), "-out", certificate()});
    EXPECT_EQ(made.exit_code, 0) << made.err;
  }
  std::string key() const { return (folder_.path() / "key.pem").string(); }
  std::string certificate() const { return (folder_.path() / "certificate.pem").string(); }

 private:
  rookery::test::TempFolder folder_;
};

inline Notice begun() {
  Notice notice;
  notice.id = 5;
  notice.what = What::begun;
  notice.made = base::parse_rfc3339("2026-03-01T12:00:01Z").value();
  notice.camera = "back-door";
  notice.title = "Hintertür – Hof";
  notice.event =
      R"({"id":42,"camera":"back-door","cause":"motion","start":"2026-03-01T12:00:00.000Z","end":null,"peak":0.05,"where":"lower left"})";
  notice.motion = true;
  notice.still = std::string("\xff\xd8 not really a JPEG\0\x01\xff\xd9", 24);
  return notice;
}

inline SenderOptions patient() {
  SenderOptions options;
  options.connect_within = 10s;
  options.answer_within = 20s;
  return options;
}

inline std::string script(const char* name) { return std::string(SOURCE_ROOT) + "/tests/outside/" + name; }

// One JSON line that a peer printed.
inline boost::json::object line_of(Background& peer) {
  const auto line = peer.read_line();
  EXPECT_TRUE(line.has_value()) << peer.err();
  return line ? boost::json::parse(*line).as_object() : boost::json::object();
}

// Takes connections and says nothing, or ends them at once.
class RudeServer {
 public:
  enum class Manner { silent, closing };
  explicit RudeServer(Manner manner) : acceptor_(io_, {boost::asio::ip::address_v4::loopback(), 0}) {
    if (manner == Manner::silent) return;  // the kernel takes them
    accept();
    thread_ = std::thread([this] { io_.run(); });
  }
  ~RudeServer() {
    io_.stop();
    if (thread_.joinable()) thread_.join();
  }
  std::uint16_t port() const { return acceptor_.local_endpoint().port(); }

 private:
  void accept() {
    acceptor_.async_accept([this](boost::system::error_code failed, boost::asio::ip::tcp::socket socket) {
      if (failed) return;
      socket.close();
      accept();
    });
  }
  boost::asio::io_context io_;
  boost::asio::ip::tcp::acceptor acceptor_;
  std::thread thread_;
};

}  // namespace rookery::notices::test
