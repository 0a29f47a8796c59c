#include "net/response_parser.h"

#include <random>

#include <gtest/gtest.h>

namespace rookery::net {
namespace {

using base::ErrorCode;

struct Outcome {
  std::optional<HttpHead> head;
  std::string body;
  bool done = false;
  std::optional<ErrorCode> error;
  std::string detail;
};

// Feeds `text` in pieces whose sizes `next_size` gives, keeping what was not taken as the contract asks.
template <class NextSize>
Outcome parse(std::string_view text, NextSize next_size, bool close, std::size_t head_most = 8192) {
  ResponseParser parser(head_most);
  Outcome out;
  std::string held;
  const auto fail = [&](const base::Error& error) {
    out.error = error.code;
    out.detail = error.text();
  };
  while (!text.empty() && !parser.done()) {
    const std::size_t n = std::min<std::size_t>(next_size(), text.size());
    held += text.substr(0, n);
    text.remove_prefix(n);
    const auto taken = parser.push(std::as_bytes(std::span(held)));
    if (!taken) {
      fail(taken.error());
      break;
    }
    for (const auto piece : parser.pieces()) {
      out.body.append(reinterpret_cast<const char*>(piece.data()), piece.size());
    }
    parser.pieces().clear();
    held.erase(0, *taken);
  }
  if (close && !out.error) {
    if (const auto finished = parser.finish(); !finished) fail(finished.error());
  }
  out.head = parser.head();
  out.done = parser.done();
  return out;
}

Outcome whole(std::string_view text, bool close = false, std::size_t head_most = 8192) {
  return parse(
      text, [&] { return text.size(); }, close, head_most);
}

TEST(ResponseParser, ReadsABodyWithALength) {
  const Outcome out = whole("HTTP/1.1 200 OK\r\nContent-Length: 5\r\nX: y\r\n\r\nhellomore");
  EXPECT_EQ(out.body, "hello");
  EXPECT_TRUE(out.done);
  EXPECT_EQ(out.head->status, 200);
  EXPECT_EQ(out.head->find("x"), "y");
  EXPECT_TRUE(out.head->keep_alive);
}

TEST(ResponseParser, ReadsChunks) {
  const Outcome out = whole(
      "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n1;a=b\r\n!\r\n0\r\nT: v\r\n\r\n");
  EXPECT_EQ(out.body, "hello!");
  EXPECT_TRUE(out.done);
}

TEST(ResponseParser, ChunkedWinsOverALength) {
  const Outcome out = whole(
      "HTTP/1.1 200 OK\r\nContent-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n0\r\n\r\n");
  EXPECT_EQ(out.body, "hello");
  EXPECT_TRUE(out.head->chunked);
  EXPECT_FALSE(out.head->content_length.has_value());
}

TEST(ResponseParser, ReadsUntilClose) {
  const Outcome out = whole("HTTP/1.0 200 OK\r\n\r\nhello", true);
  EXPECT_EQ(out.body, "hello");
  EXPECT_TRUE(out.done);
  EXPECT_FALSE(out.error.has_value());
  EXPECT_FALSE(out.head->keep_alive);
}

TEST(ResponseParser, TakesWhatBoardsSend) {
  EXPECT_EQ(whole("HTTP/1.1 200\r\nContent-Length: 1\r\n\r\nx").body, "x");    // no reason, no space
  EXPECT_EQ(whole("HTTP/1.1 200 \r\nContent-Length: 1\r\n\r\nx").body, "x");   // no reason
  EXPECT_EQ(whole("HTTP/1.1 200 OK\nContent-Length: 1\n\nx").body, "x");       // bare LF
  EXPECT_EQ(whole("HTTP/1.1 200 OK\r\nContent-Length:1\r\n\r\nx").body, "x");  // no space after the colon
  EXPECT_EQ(whole("HTTP/1.1 100 Continue\r\n\r\nHTTP/1.1 200 OK\r\nContent-Length: 1\r\n\r\nx").body, "x");
}

TEST(ResponseParser, AnEmptyBodyIsDoneWithTheHead) {
  EXPECT_TRUE(whole("HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n").done);
  EXPECT_TRUE(whole("HTTP/1.1 204 No Content\r\n\r\n").done);
}

struct Bad {
  const char* text;
  bool close;
  ErrorCode code;
  const char* says;
};
class BadResponse : public testing::TestWithParam<Bad> {};

TEST_P(BadResponse, SaysWhatIsWrong) {
  const Outcome out = whole(GetParam().text, GetParam().close);
  ASSERT_TRUE(out.error.has_value());
  EXPECT_EQ(*out.error, GetParam().code) << out.detail;
  EXPECT_NE(out.detail.find(GetParam().says), std::string::npos) << out.detail;
}

INSTANTIATE_TEST_SUITE_P(
    ResponseParser, BadResponse,
    testing::Values(
        Bad{"SSH-2.0-x\r\n", false, ErrorCode::malformed, "not HTTP; it begins with \"SSH-2.0-x"},
        Bad{"\x15\x03\x01", false, ErrorCode::unsupported, "speaks TLS"},
        Bad{"HTTP/1.1 abc\r\n\r\n", false, ErrorCode::malformed, "header is wrong"},
        Bad{"HTTP/1.1 200 OK\r\nbad field\r\n\r\n", false, ErrorCode::malformed, "header is wrong"},
        Bad{"HTTP/1.1 200 OK\r\nContent-Length: -1\r\n\r\n", false, ErrorCode::malformed, "header"},
        Bad{"HTTP/1.1 200 OK\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n", false, ErrorCode::malformed,
            "header"},
        Bad{"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n", false, ErrorCode::malformed,
            "framing"},
        Bad{"", true, ErrorCode::closed, "without an answer"},
        Bad{"HTTP/1.1 200 OK\r\nCont", true, ErrorCode::closed, "middle of the response header"},
        Bad{"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\nabc", true, ErrorCode::closed, "middle of the body"},
        Bad{"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhel", true, ErrorCode::closed,
            "middle of the body"}));

TEST(ResponseParser, AHeadWithoutEndIsGivenUpAtTheBound) {
  const Outcome out = whole("HTTP/1.1 200 OK\r\nX: " + std::string(100000, 'x'), false, 1000);
  ASSERT_TRUE(out.error.has_value());
  EXPECT_EQ(*out.error, ErrorCode::too_large);
  const std::string just_fits = "HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n";
  EXPECT_TRUE(whole(just_fits, false, just_fits.size()).done);
  EXPECT_EQ(whole(just_fits, false, just_fits.size() - 1).error, ErrorCode::too_large);
}

// However the bytes are split, the outcome is the same.
TEST(ResponseParser, SplitsDoNotMatter) {
  const std::vector<std::pair<std::string, bool>> texts = {
      {"HTTP/1.1 200 OK\r\nContent-Length: 11\r\n\r\nhello world", false},
      {"HTTP/1.1 200\r\nTransfer-Encoding: chunked\r\nContent-Length: 2\r\n\r\n5\r\nhello\r\n006\r\n "
       "world\r\n0\r\n\r\n",
       false},
      {"HTTP/1.0 200 OK\n\nhello world", true},
      {"HTTP/1.1 100 Continue\r\n\r\nHTTP/1.1 200 OK\r\nContent-Length: 11\r\n\r\nhello world", false},
  };
  std::mt19937 random(7);
  for (const auto& [text, close] : texts) {
    for (int round = 0; round < 200; ++round) {
      const Outcome out = parse(
          text, [&] { return 1 + random() % (round % 20 + 1); }, close);
      ASSERT_FALSE(out.error.has_value()) << out.detail;
      EXPECT_EQ(out.body, "hello world");
      EXPECT_TRUE(out.done);
    }
  }
}

// Random damage: never a crash, never more body than bytes (the sanitizers watch).
TEST(ResponseParser, DamageIsHarmless) {
  const std::string good =
      "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\nContent-Type: a/b\r\n\r\n5\r\nhello\r\n0\r\n\r\n";
  std::mt19937 random(11);
  for (int round = 0; round < 3000; ++round) {
    std::string text = good;
    for (int n = 0; n < 1 + round % 4; ++n) text[random() % text.size()] = static_cast<char>(random());
    const Outcome out = parse(
        text, [&] { return 1 + random() % 30; }, true);
    EXPECT_LE(out.body.size(), text.size());
  }
}

}  // namespace
}  // namespace rookery::net
