#include "net/http_client.h"

#include <set>
#include <thread>

#include <gtest/gtest.h>

#include "tests/net/net_support.h"
#include "tests/support/scripted_peer.h"

namespace rookery::net {
namespace {

using namespace std::chrono_literals;
using rookery::test::ScriptedConnection;
using rookery::test::ScriptedPeer;

constexpr std::string_view kOk = "HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nok";

Address to(const ScriptedPeer& peer, std::string_view path, std::string user = {},
           std::string password = {}) {
  Address out = *Address::parse(peer.address(path));
  out.user = std::move(user);
  out.password = std::move(password);
  return out;
}

// Plays the peer's part on a thread of its own while the client's coroutine runs.
struct Exchange {
  template <class Play>
  base::Result<std::string> fetch(Address address, Play play) {
    std::thread other(play);
    base::Result<std::string> got = test::run(context, whole(&client, std::move(address)));
    other.join();
    return got;
  }

  static boost::asio::awaitable<base::Result<std::string>> whole(HttpClient* client, Address address) {
    auto asking = client->fetch_head(std::move(address));
    const base::Result<HttpHead> head = co_await std::move(asking);
    if (!head) co_return head.error();
    std::string body;
    for (;;) {
      auto reading = client->fetch_piece();
      const base::Result<HttpClient::Piece> piece = co_await std::move(reading);
      if (!piece) co_return piece.error();
      if (piece->empty()) co_return body;
      body.append(reinterpret_cast<const char*>(piece->data()), piece->size());
    }
  }

  explicit Exchange(HttpOptions options = {}) : client(context.get_executor(), std::move(options)) {}

  boost::asio::io_context context;
  HttpClient client;
};

// Reads the n-th request (from 1) on a connection and answers it.
void answer(ScriptedConnection& connection, int n, std::string_view text) {
  const auto requests = [&] {
    int count = 0;
    const std::string all = connection.received();
    for (std::size_t at = 0; (at = all.find("\r\n\r\n", at)) != std::string::npos; at += 4) ++count;
    return count;
  };
  const auto end = std::chrono::steady_clock::now() + 10s;
  while (requests() < n && std::chrono::steady_clock::now() < end) std::this_thread::yield();
  connection.send(text);
}

int occurrences(const std::string& hay, std::string_view needle) {
  int n = 0;
  for (std::size_t at = 0; (at = hay.find(needle, at)) != std::string::npos; at += needle.size()) ++n;
  return n;
}

TEST(HttpClient, SignsInOnTheSameConnectionAndRemembersIt) {
  ScriptedPeer peer;
  Exchange exchange;
  std::shared_ptr<ScriptedConnection> connection;
  const auto first = exchange.fetch(to(peer, "/a", "kiln", "pw"), [&] {
    connection = peer.accept();
    answer(*connection, 1,
           "HTTP/1.1 401 Unauthorized\r\nWWW-Authenticate: Digest realm=\"x\", nonce=\"n1\", qop=\"auth\"\r\n"
           "Content-Length: 4\r\n\r\nnope");
    answer(*connection, 2, kOk);
  });
  ASSERT_TRUE(first.has_value()) << first.error().text();
  EXPECT_EQ(*first, "ok");
  const auto second = exchange.fetch(to(peer, "/b", "kiln", "pw"), [&] { answer(*connection, 3, kOk); });
  ASSERT_TRUE(second.has_value()) << second.error().text();
  EXPECT_EQ(peer.connections(), 1);
  EXPECT_EQ(exchange.client.connects(), 1u);
  EXPECT_EQ(occurrences(connection->received(), "Authorization: Digest"), 2);
  EXPECT_EQ(occurrences(connection->received(), "nc=00000002"), 1);
}

TEST(HttpClient, AStaleNonceIsReplacedOnce) {
  ScriptedPeer peer;
  Exchange exchange;
  const std::string stale =
      "HTTP/1.1 401 Unauthorized\r\nWWW-Authenticate: Digest realm=\"x\", nonce=\"n2\", qop=\"auth\", "
      "stale=true\r\n"
      "Content-Length: 0\r\n\r\n";
  const auto got = exchange.fetch(to(peer, "/", "kiln", "pw"), [&] {
    const auto connection = peer.accept();
    answer(*connection, 1, stale);
    answer(*connection, 2, stale);
    answer(*connection, 3, kOk);
  });
  ASSERT_TRUE(got.has_value()) << got.error().text();
  Exchange other;
  const auto never = other.fetch(to(peer, "/", "kiln", "pw"), [&] {
    const auto connection = peer.accept();
    for (int n = 1; n <= 3; ++n) answer(*connection, n, stale);
  });
  ASSERT_FALSE(never.has_value());
  EXPECT_EQ(never.error().code, base::ErrorCode::no_permission);
}

TEST(HttpClient, ARedirectToAnotherHostDoesNotCarryTheSignIn) {
  ScriptedPeer here;
  ScriptedPeer there;
  Exchange exchange;
  std::shared_ptr<ScriptedConnection> second;
  const auto got = exchange.fetch(to(here, "/", "kiln", "pw"), [&] {
    const auto first = here.accept();
    answer(*first, 1,
           "HTTP/1.1 401 Unauthorized\r\nWWW-Authenticate: Basic realm=\"x\"\r\nContent-Length: 0\r\n\r\n");
    answer(*first, 2,
           fmt::format("HTTP/1.1 302 Found\r\nLocation: http://localhost:{}/x\r\nContent-Length: 0\r\n\r\n",
                       there.port()));
    second = there.accept();
    answer(*second, 1, kOk);
    EXPECT_EQ(occurrences(first->received(), "Authorization: Basic"), 1);
  });
  ASSERT_TRUE(got.has_value()) << got.error().text();
  EXPECT_EQ(occurrences(second->received(), "Authorization"), 0);
  EXPECT_EQ(occurrences(second->received(), "Host: localhost"), 1);
}

TEST(HttpClient, CloseEndsAPendingCallAsCancelled) {
  ScriptedPeer peer;
  Exchange exchange;
  const auto got = exchange.fetch(to(peer, "/"), [&] {
    const auto connection = peer.accept();
    connection->wait_for("\r\n\r\n");
    boost::asio::post(exchange.context, [&] { exchange.client.close(); });
    connection->wait_closed();
  });
  ASSERT_FALSE(got.has_value());
  EXPECT_EQ(got.error().code, base::ErrorCode::cancelled);
  const auto again = exchange.fetch(to(peer, "/"), [&] { answer(*peer.accept(), 1, kOk); });
  EXPECT_TRUE(again.has_value());
}

TEST(HttpClient, TakesABodyOfManyChunksWhereverTheyAreCut) {
  ScriptedPeer peer;
  Exchange exchange;
  std::string expected;
  const auto got = exchange.fetch(to(peer, "/"), [&] {
    const auto connection = peer.accept();
    answer(*connection, 1, "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n");
    std::string wire;
    for (int n = 1; n < 400; ++n) {
      const std::string chunk(static_cast<std::size_t>(n * 7), static_cast<char>('a' + n % 26));
      expected += chunk;
      wire += fmt::format("{:x}\r\n{}\r\n", chunk.size(), chunk);
    }
    wire += "0\r\n\r\n";
    for (std::size_t at = 0; at < wire.size(); at += 1009) connection->send(wire.substr(at, 1009));
  });
  ASSERT_TRUE(got.has_value()) << got.error().text();
  EXPECT_EQ(*got, expected);
}

// Names that come and go: `known` has what a network's name service would answer now.
struct Names {
  using Endpoints = std::vector<boost::asio::ip::tcp::endpoint>;
  static boost::asio::awaitable<base::Result<Endpoints>> look_up(const Names* names, std::string host,
                                                                 std::uint16_t port) {
    ++names->asked;
    if (!names->known.contains(host)) {
      co_return base::Error(base::ErrorCode::unreachable, "looking up " + host, "nobody knows it", {});
    }
    Endpoints found{{boost::asio::ip::address_v4::loopback(), port}};
    co_return found;
  }
  HttpOptions options() const {
    HttpOptions out;
    out.look_up = [this](std::string host, std::uint16_t port, auto, auto) {
      return look_up(this, std::move(host), port);
    };
    return out;
  }
  std::set<std::string> known;
  mutable int asked = 0;
};

TEST(HttpClient, ALostNameIsAskedWhereItWasLast) {
  ScriptedPeer peer;
  Names names;
  names.known = {"kiln.hall.test"};
  Exchange exchange(names.options());
  const Address kiln = *Address::parse(fmt::format("http://kiln.hall.test:{}/stream", peer.port()));
  const auto first = exchange.fetch(kiln, [&] {
    answer(*peer.accept(), 1, "HTTP/1.1 200 OK\r\nConnection: close\r\nContent-Length: 2\r\n\r\nok");
  });
  ASSERT_TRUE(first.has_value()) << first.error().text();

  names.known.clear();
  std::shared_ptr<ScriptedConnection> again;
  const auto second = exchange.fetch(kiln, [&] {
    again = peer.accept();
    answer(*again, 1, kOk);
  });
  ASSERT_TRUE(second.has_value()) << second.error().text();
  EXPECT_EQ(names.asked, 2);  // the name comes first each time: it may be known again, elsewhere
  EXPECT_EQ(occurrences(again->received(), fmt::format("Host: kiln.hall.test:{}", peer.port())), 1);
}

TEST(HttpClient, ALostNameIsNotLookedForAtAnothersAddress) {
  ScriptedPeer peer;
  Names names;
  names.known = {"kiln.hall.test"};
  Exchange exchange(names.options());
  const auto kiln = *Address::parse(fmt::format("http://kiln.hall.test:{}/", peer.port()));
  ASSERT_TRUE(exchange.fetch(kiln, [&] { answer(*peer.accept(), 1, kOk); }).has_value());
  const auto other = *Address::parse(fmt::format("http://bay.hall.test:{}/", peer.port()));
  const auto got = exchange.fetch(other, [] {});
  ASSERT_FALSE(got.has_value());
  EXPECT_EQ(got.error().code, base::ErrorCode::unreachable);
  EXPECT_EQ(peer.connections(), 1);
}

TEST(HttpClient, ARedirectWithoutATargetIsTheAnswer) {
  ScriptedPeer peer;
  Exchange exchange;
  const auto got = exchange.fetch(
      to(peer, "/"), [&] { answer(*peer.accept(), 1, "HTTP/1.1 302 Found\r\nContent-Length: 2\r\n\r\nok"); });
  ASSERT_TRUE(got.has_value()) << got.error().text();
  EXPECT_EQ(*got, "ok");
}

}  // namespace
}  // namespace rookery::net
