// What a pull says about everything that is not a healthy board: each mistake its own error, with a remedy.
#include <gtest/gtest.h>

#include "tests/camera/pull_peer.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;
using base::ErrorCode;
using rookery::test::ScriptedPeer;

TEST(BadInput, WrongHost) {
  Pulling p(stream_of("http://no-such-board.invalid/stream"), quick());
  p.expect_error(ErrorCode::unreachable, "no address is known for the name \"no-such-board.invalid\"");
}

TEST(BadInput, Refused) {
  std::uint16_t port = 0;
  {
    const ScriptedPeer gone;
    port = gone.port();
  }
  Pulling p(stream_of(fmt::format("http://127.0.0.1:{}/stream", port)), quick());
  p.expect_error(ErrorCode::refused, "connection refused");
  EXPECT_EQ(p.pull.status().counters.connects, 0u);
}

TEST(BadInput, NoAddress) {
  Pulling p(stream_of("192.168.4.9/stream"), quick());
  p.expect_error(ErrorCode::invalid_value, "Did you mean http://192.168.4.9/stream?");
}

TEST(BadInput, TlsWhereThereIsNone) {
  ScriptedPeer plain;
  Pulling p(stream_of(fmt::format("https://127.0.0.1:{}/stream", plain.port())), quick());
  const auto connection = plain.accept();
  ASSERT_TRUE(connection);
  connection->send("HTTP/1.0 400 Bad Request\r\n\r\n");
  connection->close();
  p.expect_error(ErrorCode::unsupported, "does not speak TLS");
}

TEST(BadInput, PlainHttpToATlsPort) {
  ScriptedPeer peer;
  peer.always_answer({std::string("\x15\x03\x01\x00\x02\x02\x46", 7)});
  Pulling p(stream_of(peer.address()), quick());
  p.expect_error(ErrorCode::unsupported, "speaks TLS, not plain HTTP");
}

TEST(BadInput, AnotherProtocol) {
  ScriptedPeer peer;
  peer.always_answer({"220 saltmarsh ready\r\n"});
  Pulling p(stream_of(peer.address()), quick());
  p.expect_error(ErrorCode::malformed, "not HTTP; it begins with \"220 saltmarsh");
}

TEST(BadInput, RedirectInACircle) {
  ScriptedPeer peer;
  peer.always_answer({"HTTP/1.1 302 Found\r\nLocation: /stream\r\nContent-Length: 0\r\n\r\n"});
  Pulling p(stream_of(peer.address("/stream")), quick());
  p.expect_error(ErrorCode::malformed, "redirects in a circle");
}

TEST(BadInput, RedirectWithoutEnd) {
  ScriptedPeer peer;
  peer.always_answer({"HTTP/1.1 302 Found\r\nLocation: x/y\r\nContent-Length: 0\r\n\r\n"});
  Pulling p(stream_of(peer.address("/stream")), quick());
  p.expect_error(ErrorCode::malformed, "redirects more than 5 times");
}

TEST(BadInput, HtmlInsteadOfAPicture) {
  ScriptedPeer peer;
  peer.always_answer({response("200 OK", "text/html", "<html><title>Bobbin set-up</title>")});
  Pulling p(stream_of(peer.address()), quick());
  p.expect_error(ErrorCode::unsupported,
                 "a web page came instead of a picture (status 200, titled \"Bobbin set-up\")");
}

TEST(BadInput, Statuses) {
  const std::vector<std::tuple<const char*, ErrorCode, const char*>> cases = {
      {"404 Not Found", ErrorCode::not_found, "status 404"},
      {"503 Service Unavailable", ErrorCode::busy, "status 503"},
      {"500 Internal Server Error", ErrorCode::refused, "status 500"},
      {"403 Forbidden", ErrorCode::no_permission, "status 403"},
  };
  for (const auto& [status, code, says] : cases) {
    ScriptedPeer peer;
    peer.always_answer({response(status, "text/html", "<title>no</title>")});
    Pulling p(stream_of(peer.address()), quick());
    p.expect_error(code, says);
  }
}

TEST(BadInput, AcceptsAndStaysSilent) {
  ScriptedPeer peer;
  PullLimits limits = quick();
  limits.connect = 300ms;
  Pulling p(stream_of(peer.address()), limits);
  p.expect_error(ErrorCode::timed_out,
                 "accepts connections but sends nothing: another viewer may hold its one stream");
}

TEST(BadInput, AnswersAndStaysSilent) {
  ScriptedPeer peer;
  PullLimits limits = quick();
  limits.silence = 300ms;
  Pulling p(stream_of(peer.address()), limits);
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(stream_head());
  p.expect_error(ErrorCode::timed_out, "answers but sends no picture");
}

TEST(BadInput, ASlowHeadDoesNotEarnMoreTime) {
  ScriptedPeer peer;
  PullLimits limits = quick();
  limits.connect = 400ms;
  Pulling p(stream_of(peer.address()), limits);
  const auto began = std::chrono::steady_clock::now();
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  ASSERT_TRUE(connection->send("HTTP/1.1 200 OK\r\nX-Slow: "));
  // One byte every few milliseconds, for as long as somebody listens.
  eventually([&] { return !connection->send("x") || connection->wait_closed(5ms); }, 10s);
  EXPECT_LT(std::chrono::steady_clock::now() - began, 5s);
  p.expect_error(ErrorCode::timed_out, "waiting for its answer");
}

TEST(BadInput, AHeadWithoutEnd) {
  ScriptedPeer peer;
  peer.always_answer({"HTTP/1.1 200 OK\r\n", std::string(64 * 1024, 'x')});
  Pulling p(stream_of(peer.address()), quick());
  p.expect_error(ErrorCode::too_large, "the response header has no end");
}

TEST(BadInput, AHugePartIsGivenUpAndTheNextIsTaken) {
  ScriptedPeer peer;
  PullLimits limits = quick();
  limits.part_most_bytes = 64 * 1024;
  Pulling p(stream_of(peer.address()), limits);
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(stream_head());
  connection->send("--word\r\nContent-Type: image/jpeg\r\nContent-Length: 10000000000\r\n\r\n");
  for (int n = 0; n < 40; ++n) connection->send(std::string(10000, 'x'));
  connection->send("\r\n" + part(picture(1)) + part(picture(2)) + "--word\r\n");
  ASSERT_TRUE(p.seen.wait_for(2));
  const Counters counters = p.pull.status().counters;
  EXPECT_EQ(counters.rejected_parts, 1u);
  EXPECT_EQ(counters.received, 3u);
  expect_books_balance(counters);
}

TEST(BadInput, ABoundaryThatNeverComes) {
  ScriptedPeer peer;
  peer.always_answer({stream_head("other"), std::string(2 * 1024 * 1024, 'y')});
  Pulling p(stream_of(peer.address()), quick());
  const base::Error error = p.wait_for_error("bobbin");
  EXPECT_TRUE(error.code == ErrorCode::malformed || error.code == ErrorCode::too_large) << error.text();
  EXPECT_EQ(p.seen.count(), 0u);
  expect_books_balance(p.pull.status().counters);
}

TEST(BadInput, PartsOfNoLengthAreCountedByKind) {
  ScriptedPeer peer;
  Pulling p(stream_of(peer.address()), quick());
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(stream_head() + part("") + part("") + part(picture(1)) + part("<html>") + "--word\r\n");
  ASSERT_TRUE(eventually([&] { return p.pull.status().counters.received == 4; }));
  const Status status = p.pull.status();
  EXPECT_EQ(status.counters.rejected[static_cast<std::size_t>(jpeg::BrokenKind::empty)], 2u);
  EXPECT_EQ(status.counters.rejected[static_cast<std::size_t>(jpeg::BrokenKind::not_a_picture)], 1u);
  EXPECT_EQ(status.counters.published, 1u);
  ASSERT_TRUE(status.last_error.has_value());
  EXPECT_NE(status.last_error->detail.find("the last picture is broken: not-a-picture"), std::string::npos);
}

TEST(BadInput, OnlyBrokenPicturesAreGivenUpInTheEnd) {
  ScriptedPeer peer;
  PullLimits limits = quick();
  limits.silence = 150ms;
  Pulling p(stream_of(peer.address()), limits);
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(stream_head());
  const std::string cut = part(picture(1).substr(0, 300));
  eventually([&] { return !connection->send(cut) || connection->wait_closed(10ms); }, 10s);
  p.expect_error(ErrorCode::malformed, "pictures come, but none is whole; the last: no-end");
  EXPECT_GT(p.pull.status().counters.rejected_total(), 3u);
}

TEST(BadInput, AHalfClosedSocketEndsTheStream) {
  ScriptedPeer peer;
  Pulling p(stream_of(peer.address()), quick());
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(stream_head() + part(picture(1)) + part(picture(2).substr(0, 200)).substr(0, 150));
  connection->half_close();
  ASSERT_TRUE(eventually([&] { return p.pull.status().counters.received == 2; }));
  const Counters counters = p.pull.status().counters;
  EXPECT_EQ(counters.published, 1u);
  EXPECT_EQ(counters.rejected_total(), 1u);
  EXPECT_EQ(p.wait_for_error("ended the stream").code, ErrorCode::closed);
  EXPECT_TRUE(connection->wait_closed());
  EXPECT_TRUE(peer.accept()) << "it comes back";
}

TEST(BadInput, CutInTheMiddleOfAChunk) {
  ScriptedPeer peer;
  Pulling p(stream_of(peer.address()), quick());
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(
      "HTTP/1.1 200 OK\r\nContent-Type: multipart/x-mixed-replace;boundary=word\r\n"
      "Transfer-Encoding: chunked\r\n\r\n");
  const std::string body = part(picture(1)) + part(picture(2));
  connection->send(fmt::format("{:x}\r\n{}", body.size(), body.substr(0, body.size() - 100)));
  ASSERT_TRUE(p.seen.wait_for(1));
  connection->close();
  p.expect_error(ErrorCode::closed, "the board dropped the stream");
  const Counters counters = p.pull.status().counters;
  EXPECT_EQ(counters.received, 2u);
  expect_books_balance(counters);
}

TEST(BadInput, StillsThatAreTooLargeCutOrAStream) {
  ScriptedPeer large;
  large.always_answer({"HTTP/1.0 200 OK\r\nContent-Type: image/jpeg\r\n\r\n", std::string(200000, 'x')});
  PullLimits limits = quick();
  limits.part_most_bytes = 64 * 1024;
  Pulling p(stills_of(large.address()), limits);
  p.expect_error(ErrorCode::too_large, "the still has more than 65536 bytes");

  ScriptedPeer cut;
  cut.always_answer(
      {"HTTP/1.1 200 OK\r\nContent-Type: image/jpeg\r\nContent-Length: 9999\r\n\r\n", picture(1)});
  Pulling q(stills_of(cut.address()), quick());
  EXPECT_EQ(q.wait_for_error("middle of the body").code, ErrorCode::closed);
  expect_books_balance(q.pull.status().counters);
  EXPECT_GT(q.pull.status().counters.rejected_parts, 0u);

  ScriptedPeer stream;
  stream.always_answer({stream_head()});
  Pulling r(stills_of(stream.address()), quick());
  r.expect_error(ErrorCode::unsupported, "the still address answers with a stream");
}

TEST(BadInput, StillsUntilCloseAreTaken) {
  ScriptedPeer peer;
  peer.always_answer({"HTTP/1.0 200 OK\r\n\r\n", picture(1)});
  Pulling p(stills_of(peer.address()), quick());
  EXPECT_TRUE(p.seen.wait_for(3));
  EXPECT_EQ(p.pull.status().counters.rejected_total(), 0u);
}

TEST(BadInput, AKeptConnectionThatTheBoardClosedIsMadeAnewWithoutAnError) {
  ScriptedPeer peer;
  Pulling p(stills_of(peer.address()), quick());
  const auto first = peer.accept();
  ASSERT_TRUE(first);
  ASSERT_TRUE(first->wait_for("\r\n\r\n"));
  first->send(response("200 OK", "image/jpeg", picture(1)));
  ASSERT_TRUE(p.seen.wait_for(1));
  first->close();
  const auto second = peer.accept();
  ASSERT_TRUE(second);
  ASSERT_TRUE(second->wait_for("\r\n\r\n"));
  second->send(response("200 OK", "image/jpeg", picture(2)));
  ASSERT_TRUE(p.seen.wait_for(2));
  EXPECT_FALSE(p.pull.status().last_error.has_value());
  EXPECT_EQ(p.pull.status().counters.dropouts, 0u);
}

TEST(BadInput, NoErrorHoldsThePassword) {
  ScriptedPeer peer;
  peer.always_answer({response("404 Not Found", "text/plain", "")});
  Settings settings = stream_of(peer.address("/stream?token=hunter2"));
  settings.user = "kiln";
  settings.password = "hunter2";
  Pulling p(settings, quick());
  const base::Error error = p.wait_for_error("404");
  EXPECT_EQ(error.text().find("hunter2"), std::string::npos) << error.text();
}

}  // namespace
}  // namespace rookery::camera::test
