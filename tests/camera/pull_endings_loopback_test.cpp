// Streams whose closing boundary never comes, as boards' never does: what came whole is shown, what did not
// is counted, and the state says which it was.
#include <gtest/gtest.h>

#include "tests/camera/pull_peer.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;
using base::ErrorCode;
using rookery::test::ScriptedPeer;

// A part whose end only a boundary tells.
std::string open_part(std::string_view body) {
  return fmt::format("--word\r\nContent-Type: image/jpeg\r\n\r\n{}", body);
}

// One stream, then a pause that outlasts the test.
PullLimits one_stream(std::chrono::milliseconds silence) {
  PullLimits limits = quick();
  limits.silence = silence;
  limits.backoff_first = limits.backoff_most = 1h;
  return limits;
}

// Sends two whole pictures and then `last`, all at once: a busy machine must make no silence of its own.
struct Board {
  explicit Board(const std::string& last, std::chrono::milliseconds silence = 5s)
      : pulling(stream_of(peer.address()), one_stream(silence)), connection(peer.accept()) {
    connection->send(stream_head() + open_part(picture(1)) + "\r\n" + part(picture(2)) + last);
  }
  // What there is to say once the pull has given it up.
  Status end(ErrorCode code, std::string_view text) {
    pulling.expect_error(code, text);
    EXPECT_TRUE(eventually([&] { return pulling.pull.status().state == State::waiting; }));
    EXPECT_TRUE(connection->wait_closed());
    EXPECT_TRUE(pulling.pull.status().retry_at.has_value());
    return pulling.pull.status();
  }
  Status end_by_close() {
    connection->half_close();
    return end(ErrorCode::closed, "the board ended the stream");
  }

  ScriptedPeer peer;
  Pulling pulling;
  std::shared_ptr<rookery::test::ScriptedConnection> connection;
};

TEST(NoClosingBoundary, TheStreamEndsBehindAPicture) {
  Board board(open_part(picture(3)));
  const Counters counters = board.end_by_close().counters;
  EXPECT_EQ(counters.published, 3u);
  EXPECT_EQ(counters.received, 3u);
}

TEST(NoClosingBoundary, TheStreamEndsInAPicture) {
  Board board(open_part(picture(3).substr(0, 300)));
  const Counters counters = board.end_by_close().counters;
  EXPECT_EQ(counters.published, 2u);
  EXPECT_EQ(counters.received, 3u);
  EXPECT_EQ(counters.rejected_parts, 1u);
}

// Declared and all there, but broken: it is a picture with a fault of its own, not a part that was cut.
TEST(NoClosingBoundary, TheStreamEndsBehindABrokenPicture) {
  Board board("--word\r\nContent-Length: 300\r\n\r\n" + picture(3).substr(0, 300));
  const Counters counters = board.end_by_close().counters;
  EXPECT_EQ(counters.published, 2u);
  EXPECT_EQ(counters.rejected[static_cast<std::size_t>(jpeg::BrokenKind::no_end)], 1u);
  EXPECT_EQ(counters.rejected_parts, 0u);
}

TEST(NoClosingBoundary, TheStreamFallsSilentBehindAPicture) {
  Board board(open_part(picture(3)), 300ms);
  const Counters counters = board.end(ErrorCode::timed_out, "connected, but no byte came for 0.3 s").counters;
  EXPECT_EQ(counters.published, 3u) << "it came whole, only nothing told so";
  EXPECT_EQ(counters.received, 3u);
}

TEST(NoClosingBoundary, TheStreamFallsSilentInAPicture) {
  Board board(open_part(picture(3).substr(0, 300)), 300ms);
  const Counters counters = board.end(ErrorCode::timed_out, "connected, but no byte came for 0.3 s").counters;
  EXPECT_EQ(counters.published, 2u);
  EXPECT_EQ(counters.rejected_parts, 1u);
}

// Bytes go on and on: the part is given up at its bound, and the stream once nothing whole came for long.
TEST(NoClosingBoundary, ThePictureNeverEnds) {
  PullLimits limits = one_stream(700ms);  // three times as long without a whole picture
  limits.part_most_bytes = 64 * 1024;
  ScriptedPeer peer;
  Pulling pulling(stream_of(peer.address()), limits);
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  connection->send(stream_head() + part(picture(1)) + open_part(picture(2).substr(0, 300)));
  const std::string more(1024, 'x');
  eventually([&] { return !connection->send(more) || connection->wait_closed(2ms); }, 10s);
  pulling.expect_error(ErrorCode::malformed, "bytes come, but no whole picture among them");
  const Status status = pulling.pull.status();
  EXPECT_EQ(status.counters.published, 1u);
  EXPECT_EQ(status.counters.received, 2u);
  EXPECT_EQ(status.counters.rejected_parts, 1u);
  EXPECT_EQ(status.state, State::waiting);
}

}  // namespace
}  // namespace rookery::camera::test
