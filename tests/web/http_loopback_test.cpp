// The server as such: the page's files, bad input, slow and idle callers, many of them, a port in use.
#include <fstream>

#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

TEST(Page, IsServedFromItsFolderAndFromNowhereElse) {
  WebStation hall;
  const Answer missing = hall.ask("GET", "/");
  EXPECT_EQ(missing.status, 503U);
  EXPECT_NE(missing.body.find("npm"), std::string::npos);
  std::filesystem::create_directories(hall.home() / "page");
  std::ofstream(hall.home() / "page/index.html") << "<!doctype html><title>Rookery</title>";
  std::ofstream(hall.home() / "page/app-3K5TQ2ZA.js") << "1;";
  std::ofstream(hall.home() / "page/notes.bak") << "no";
  std::ofstream(hall.home() / "secret.txt") << "no";
  std::filesystem::create_symlink(hall.home() / "secret.txt", hall.home() / "page/link.txt");
  const Answer index = hall.ask("GET", "/");
  EXPECT_EQ(index.status, 200U);
  EXPECT_EQ(index.field("Content-Type"), "text/html; charset=utf-8");
  EXPECT_EQ(index.field("Cache-Control"), "no-cache");
  EXPECT_EQ(hall.ask("GET", "/", {}, {}, {{"If-None-Match", index.field("ETag")}}).status, 304U);
  const Answer script = hall.ask("GET", "/page/app-3K5TQ2ZA.js");
  EXPECT_EQ(script.body, "1;");
  EXPECT_NE(script.field("Cache-Control").find("immutable"), std::string::npos);
  const Answer head = hall.ask("HEAD", "/page/app-3K5TQ2ZA.js");
  EXPECT_EQ(head.status, 200U);
  EXPECT_EQ(head.field("Content-Length"), "2");
  for (const char* path : {"/page/../secret.txt", "/page/..%2Fsecret.txt", "/page/%2e%2e/secret.txt",
                           "/page/link.txt", "/page/notes.bak", "/page/.hidden.js", "/page//etc/passwd",
                           "/page/%2Fetc%2Fpasswd", "/page/..\\secret.txt"}) {
    const unsigned status = hall.ask("GET", path).status;
    EXPECT_TRUE(status == 404U || status == 400U) << path << " " << status;
  }
}

TEST(Http, BadInputGetsAClearAnswer) {
  WebStation hall([](web::ServerOptions& options) { options.limits.head = std::chrono::milliseconds{300}; });
  const auto raw = [&](const std::string& text) {
    Line line(hall.endpoint());
    line.send(text);
    return line.receive();
  };
  const std::string host = "Host: " + hall.host() + "\r\n";
  EXPECT_EQ(raw("GET / HTTP/1.1\r\n\r\n").status, 400U);
  EXPECT_EQ(raw("GET / HTTP/1.1\r\nHost: elsewhere.example\r\n\r\n").status, 421U);
  EXPECT_EQ(raw("nonsense\r\n\r\n").status, 400U);
  EXPECT_EQ(raw("GET /healthz HTTP/1.1\r\n" + host + "X: " + std::string(20'000, 'x') + "\r\n\r\n").status,
            431U);
  EXPECT_EQ(raw("POST /api/v1/sign-in HTTP/1.1\r\n" + host + "Content-Length: 2000000\r\n\r\n").status, 413U);
  EXPECT_EQ(raw("PUT /healthz HTTP/1.1\r\n" + host + "\r\n").field("Allow"), "GET, HEAD");
  EXPECT_EQ(raw("GET /api/nothing HTTP/1.1\r\n" + host + "\r\n").status, 404U);
  Line two(hall.endpoint());  // pipelined
  const std::string get = "GET /healthz HTTP/1.1\r\n" + host + "\r\n";
  two.send(get + get);
  EXPECT_EQ(two.receive().status, 200U);
  EXPECT_EQ(two.receive().status, 200U);
}

TEST(Http, ASlowLorisIsCut) {
  WebStation hall([](web::ServerOptions& options) { options.limits.head = std::chrono::milliseconds{300}; });
  Line line(hall.endpoint());
  line.send("GET /healthz HTTP/1.1\r\nHost: x\r\n");
  EXPECT_TRUE(line.ends());
}

TEST(Http, AViewerWhoSendsNothingMoreStillGetsTheAnswer) {
  WebStation hall;
  Line line(hall.endpoint());
  line.send("GET /healthz HTTP/1.1\r\nHost: " + hall.host() + "\r\n\r\n");
  line.half_close();
  EXPECT_EQ(line.receive().status, 200U);
}

TEST(Http, WhoOnlyHoldsAConnectionGivesWayAndWhoIsLetInStays) {
  WebStation hall([](web::ServerOptions& options) { options.limits.connections_most = 2; });
  Line a(hall.endpoint());
  Line b(hall.endpoint());
  ASSERT_TRUE(WebStation::eventually([&] { return hall.server().connections() == 2; }));
  Line marta(hall.endpoint());
  const std::string asking = hall.request_text("GET", "/api/v1/me", hall.owner(), {}, {});
  marta.send(asking);
  EXPECT_EQ(marta.receive().status, 200U);
  EXPECT_TRUE(a.ends());
  Line ines(hall.endpoint());
  ines.send(asking);
  EXPECT_EQ(ines.receive().status, 200U);
  EXPECT_TRUE(b.ends());

  Line late(hall.endpoint());  // now all are people
  const Answer full = late.receive();
  EXPECT_EQ(full.status, 503U);
  EXPECT_EQ(full.field("Retry-After"), "10");
  EXPECT_EQ(full.code(), "busy");
  EXPECT_FALSE(full.json().at("remedy").as_string().empty());
  marta.send(asking);
  EXPECT_EQ(marta.receive().status, 200U);
}

TEST(Http, ViewersGetTheDescriptorsThatTheCamerasLeave) {
  WebStation hall([](web::ServerOptions& options) { options.limits.descriptors = 96 + 4 + 18; });
  hall.add_camera("anvil");
  std::vector<std::unique_ptr<Line>> people;
  const std::string asking = hall.request_text("GET", "/api/v1/me", hall.owner(), {}, {});
  for (int i = 0; i < 18; ++i) {
    people.push_back(std::make_unique<Line>(hall.endpoint()));
    people.back()->send(asking);
    ASSERT_EQ(people.back()->receive().status, 200U) << i;
  }
  EXPECT_EQ(Line(hall.endpoint()).receive().status, 503U);
}

TEST(Http, ASignInIsNoPlaceForLargeBodies) {
  WebStation hall;
  for (const char* address : {"/api/v1/sign-in", "/api/v1/sign-in/once"}) {
    EXPECT_EQ(hall.ask("POST", address, {}, std::string(4097, ' ')).status, 413U);
    EXPECT_EQ(hall.ask("POST", address, {}, std::string(4096, ' ')).status, 422U);
  }
}

TEST(Server, APortInUseIsToldWithARemedy) {
  WebStation hall;
  web::ServerOptions options;
  options.listen = {hall.endpoint()};
  web::Server second(hall.station().io(), hall.station(), options);
  const auto started = second.start();
  ASSERT_FALSE(started);
  EXPECT_EQ(started.error().code, base::ErrorCode::busy);
  EXPECT_NE(started.error().remedy.find("--listen"), std::string::npos);
}

}  // namespace
}  // namespace rookery::test
