#include "web/message.h"

#include <gtest/gtest.h>

#include "web/byte_range.h"
#include "web/problem.h"
#include "web/router.h"

namespace rookery::web {
namespace {

Request target(std::string_view text) {
  Request request;
  EXPECT_TRUE(read_target(text, request)) << text;
  return request;
}

TEST(Target, IsDecodedPieceByPiece) {
  const Request request = target("/live/an%76il.jpg?width=320&at=2026-03-01T12%3A00%3A00%2B02%3A00&token=");
  EXPECT_EQ(request.segments, (std::vector<std::string>{"live", "anvil.jpg"}));
  EXPECT_EQ(request.query_value("width"), "320");
  EXPECT_EQ(request.query_value("at"), "2026-03-01T12:00:00+02:00");
  EXPECT_EQ(request.query_value("token"), "");
  EXPECT_EQ(request.query_value("other"), std::nullopt);
}

TEST(Target, MayBeAbsolute) {
  EXPECT_EQ(target("http://station.example/healthz").segments, std::vector<std::string>{"healthz"});
  EXPECT_TRUE(target("/").segments.empty());
}

TEST(Target, AnEncodedSlashStaysInsideItsSegment) {
  EXPECT_EQ(target("/page/..%2F..%2Fetc").segments, (std::vector<std::string>{"page", "../../etc"}));
}

TEST(Target, ThatIsNoPathIsRefused) {
  for (const char* text : {"", "*", "live", "/a b", "/%zz", "/a%00b", "ftp://a/b"}) {
    Request request;
    const auto read = read_target(text, request);
    ASSERT_FALSE(read) << text;
    EXPECT_EQ(read.error().code, base::ErrorCode::malformed);
  }
}

TEST(Target, ASecretNeverReachesTheErrorText) {
  Request request;
  const auto read = read_target("/live/x y?token=geheim", request);
  ASSERT_FALSE(read);
  EXPECT_EQ(read.error().text().find("geheim"), std::string::npos);
}

TEST(Head, CarriesLengthAndWhatProtectsThePage) {
  Response response;
  response.set("Content-Type", "text/plain");
  response.body = std::string("four");
  const std::string head = head_text(response, true, true);
  EXPECT_TRUE(head.starts_with("HTTP/1.1 200 OK\r\n"));
  for (const char* field :
       {"Content-Length: 4\r\n", "X-Content-Type-Options: nosniff\r\n", "Referrer-Policy: no-referrer\r\n",
        "default-src 'none'", "frame-ancestors 'none'"}) {
    EXPECT_NE(head.find(field), std::string::npos) << field;
  }
  EXPECT_EQ(head.find("unsafe-inline"), std::string::npos);
  EXPECT_TRUE(head.ends_with("\r\n\r\n"));
}

TEST(Problem, TellsAllThatAnErrorKnows) {
  const base::Error error(base::ErrorCode::already_exists, "camera", "\"anvil\" is taken", "Choose another.");
  const auto object = problem_of(error);
  EXPECT_EQ(object.at("type"), "/problems/already-exists");
  EXPECT_EQ(object.at("status"), 409);
  EXPECT_EQ(object.at("code"), "already-exists");
  EXPECT_EQ(object.at("detail"), "camera: \"anvil\" is taken");
  EXPECT_EQ(object.at("remedy"), "Choose another.");
}

Response nobody(Call&) { return Response(); }

const Route kTable[] = {
    {http::verb::get, "/", Need::nothing, nobody},
    {http::verb::get, "/page/{path…}", Need::nothing, nobody},
    {http::verb::get, "/live/{name}.jpg", Need::watch, nobody},
    {http::verb::get, "/things/{name}", Need::viewer, nobody},
    {http::verb::delete_, "/things/{name}", Need::owner, nobody},
    {http::verb::post, "/things/{name}/parts/{id}", Need::owner, nobody},
};

Match find(http::verb method, std::string_view path) { return match(kTable, method, target(path).segments); }

TEST(Router, FindsByPatternAndMethod) {
  EXPECT_EQ(find(http::verb::get, "/").route, &kTable[0]);
  EXPECT_EQ(find(http::verb::delete_, "/things/a").route, &kTable[4]);
  const Match two = find(http::verb::post, "/things/a/parts/7");
  EXPECT_EQ(two.route, &kTable[5]);
  EXPECT_EQ(two.params, (std::vector<std::string>{"a", "7"}));
  EXPECT_EQ(find(http::verb::get, "/live/anvil.jpg").params, std::vector<std::string>{"anvil"});
  EXPECT_EQ(find(http::verb::get, "/page/a/b.js").params, (std::vector<std::string>{"a", "b.js"}));
}

TEST(Router, HeadIsGetWithoutABody) { EXPECT_EQ(find(http::verb::head, "/things/a").route, &kTable[3]); }

TEST(Router, TellsWhatIsAllowedInstead) {
  EXPECT_EQ(find(http::verb::put, "/things/a").allowed, "GET, HEAD, DELETE");
  EXPECT_EQ(find(http::verb::put, "/nothing").allowed, "");
}

TEST(Router, DoesNotMatchMoreOrLess) {
  for (const char* path :
       {"/live/.jpg", "/live/a.png", "/live", "/live/a.jpg/", "/things", "/things/a/b", "/page"}) {
    EXPECT_EQ(find(http::verb::get, path).route, nullptr) << path;
  }
}

TEST(ByteRange, IsOneRangeOrEverything) {
  const auto is = [](std::string_view field, RangeChoice::Kind kind, std::uint64_t first,
                     std::uint64_t length) {
    const RangeChoice choice = choose_range(field, 1000);
    EXPECT_EQ(choice.kind, kind) << field;
    EXPECT_EQ(choice.first, first) << field;
    EXPECT_EQ(choice.length, length) << field;
  };
  is("", RangeChoice::whole, 0, 1000);
  is("bytes=0-0", RangeChoice::part, 0, 1);
  is("bytes=10-19", RangeChoice::part, 10, 10);
  is("bytes=900-", RangeChoice::part, 900, 100);
  is("bytes=900-5000", RangeChoice::part, 900, 100);
  is("bytes=-100", RangeChoice::part, 900, 100);
  is("bytes=-5000", RangeChoice::part, 0, 1000);
  is("bytes=1000-", RangeChoice::none_such, 0, 0);
  is("bytes=-0", RangeChoice::none_such, 0, 0);
  for (const char* odd :
       {"bytes=5-2", "bytes=a-b", "bytes=1-2,5-6", "lines=1-2", "bytes=", "bytes=-", "bytes=1-x"}) {
    is(odd, RangeChoice::whole, 0, 1000);
  }
}

}  // namespace
}  // namespace rookery::web
