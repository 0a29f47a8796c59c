// `rookery find` against others' announcers - python3-zeroconf and avahi-daemon - on a network of its own.
#include <set>
#include <sstream>
#include <tuple>

#include "tests/find/hall_network.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

json::object service(const std::string& instance, const std::string& host,
                     const std::vector<std::string>& addresses) {
  return {{"instance", instance},
          {"type", "_http._tcp"},
          {"host", host},
          {"port", 80},
          {"addresses", json::array(addresses.begin(), addresses.end())}};
}

bool has_address(const json::object& found, std::string_view address) {
  for (const json::value& one : found.at("addresses").as_array()) {
    if (one.as_string() == address) return true;
  }
  return false;
}

std::function<bool(const json::object&)> named(std::string what, std::string name) {
  return [what = std::move(what), name = std::move(name)](const json::object& found) {
    return found.at("what").as_string() == what && found.at("name").is_string() &&
           found.at("name").as_string() == name;
  };
}

// Of the lines of `find --json`.
std::vector<json::object> parsed(const std::string& lines) {
  std::vector<json::object> out;
  std::istringstream in(lines);
  for (std::string line; std::getline(in, line);) out.push_back(json::parse(line).as_object());
  return out;
}

class FindMdns : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_NETWORKS();
    ROOKERY_NEEDS(run_program({"/usr/bin/python3", "-c", "import zeroconf"}).exit_code == 0,
                  "python3-zeroconf is not installed (Debian package python3-zeroconf)");
    network_ = std::make_unique<HallNetwork>();
  }
  // `rookery find` to its end.
  Ended find(std::vector<std::string> more) {
    std::vector<std::string> words{ROOKERY_PROGRAM, "find", "--json", "--home", folder_.path().string()};
    words.insert(words.end(), more.begin(), more.end());
    return run_program(HallNetwork::inside(network_->hall(), words));
  }

  TempFolder folder_;
  std::unique_ptr<HallNetwork> network_;
};

TEST_F(FindMdns, ABoardThatAnnouncesItselfIsFoundWithAllThatIsKnownOfIt) {
  MdnsPeer board(network_->add_board(17));
  FindWatch watch(*network_, {"--no-ask"});
  json::object what = service("bobbin", "bobbin.local", {"192.0.2.17", "2001:db8::17"});
  what["txt"] = {{"path", "/still"}, {"board", "hall"}};
  board.say("publish", what);
  const auto found = watch.until([](const json::object& line) {
    return named("found", "bobbin")(line) ||
           (named("changed", "bobbin")(line) && !line.at("maker_part").is_null());
  });
  const auto whole =
      found.empty() || !found.at("maker_part").is_null()
          ? found
          : watch.until([](const json::object& line) { return !line.at("maker_part").is_null(); });
  ASSERT_FALSE(whole.empty());
  EXPECT_TRUE(has_address(whole, "192.0.2.17"));
  EXPECT_TRUE(has_address(whole, "2001:db8::17"));
  EXPECT_EQ(whole.at("ports"), json::value(json::array{80}));
  EXPECT_EQ(whole.at("host").as_string(), "bobbin.local");
  EXPECT_EQ(whole.at("hardware_address").as_string(), "00:00:5e:00:53:17");
  EXPECT_EQ(whole.at("maker_part").as_string(), "00:00:5e");
  EXPECT_FALSE(whole.at("locally_administered").as_bool());
  EXPECT_EQ(whole.at("txt").at("path").as_string(), "/still");
  EXPECT_FALSE(whole.at("name_twice").as_bool());
  EXPECT_EQ(watch.end(), 0);
}

TEST_F(FindMdns, AGoodbyeTakesItAway) {
  MdnsPeer board(network_->add_board(17));
  FindWatch watch(*network_, {"--no-ask"});
  board.say("publish", service("bobbin", "bobbin.local", {"192.0.2.17"}));
  watch.until(named("found", "bobbin"));
  board.say("goodbye", {"bobbin", "_http._tcp"});
  EXPECT_FALSE(watch.until(named("gone", "bobbin")).empty());
}

TEST_F(FindMdns, AnAddressThatChangesIsFollowed) {
  const std::string space = network_->add_board(17);
  MdnsPeer board(space);
  FindWatch watch(*network_, {"--no-ask"});
  board.say("publish", service("bobbin", "bobbin.local", {"192.0.2.17"}));
  watch.until([](const json::object& line) { return !line.at("hardware_address").is_null(); });
  network_->change_address(space, "add", "192.0.2.31/24");
  // Several times, which takes some seconds: a new record takes the place of one that is older than a second
  // only (RFC 6762 section 10.2), and a real board is longer on its way to a new address.
  for (int i = 0; i < 5; ++i) board.say("publish", service("bobbin", "bobbin.local", {"192.0.2.31"}));
  const auto moved = watch.until([](const json::object& line) {
    return line.at("what").as_string() != "gone" && has_address(line, "192.0.2.31") &&
           !has_address(line, "192.0.2.17");
  });
  ASSERT_FALSE(moved.empty());
  EXPECT_FALSE(moved.at("name_twice").as_bool());
}

TEST_F(FindMdns, TwoBoardsThatClaimOneNameAreToldApart) {
  MdnsPeer one(network_->add_board(17));
  MdnsPeer other(network_->add_board(18));
  FindWatch watch(*network_, {"--no-ask"});
  for (const auto& [peer, address] : {std::pair{&one, "192.0.2.17"}, std::pair{&other, "192.0.2.18"}}) {
    json::object what = service("bobbin", "bobbin.local", {address});
    what["careless"] = true;
    peer->say("publish", what);
  }
  std::set<std::string> hardware;
  watch.until([&hardware](const json::object& line) {
    if (line.at("name_twice").as_bool() && line.at("hardware_address").is_string())
      hardware.emplace(line.at("hardware_address").as_string());
    return hardware.size() == 2;
  });
  EXPECT_EQ(hardware, (std::set<std::string>{"00:00:5e:00:53:17", "00:00:5e:00:53:18"}));
}

TEST_F(FindMdns, TwoHundredServicesAreAllFound) {
  MdnsPeer board(network_->add_board(17));
  FindWatch watch(*network_, {"--no-ask"});
  board.say("many", {{"count", 200}, {"prefix", "shelf"}, {"address", "192.0.2.30"}});
  std::set<std::string> names;
  watch.until([&names](const json::object& line) {
    if (line.at("name").is_string() && line.at("addresses").as_array().size() == 1)
      names.emplace(line.at("name").as_string());
    return names.size() >= 200;
  });
  EXPECT_EQ(names.size(), 200u);
}

TEST_F(FindMdns, NamesWithPictographsAndAllSixtyThreeBytesAreShownAsTheyAre) {
  MdnsPeer board(network_->add_board(17));
  FindWatch watch(*network_, {"--no-ask"});
  const std::string longest(63, 'k');
  for (const auto& [name, host, address] :
       {std::tuple{std::string("seedlings 🌱"), "one.local", "192.0.2.17"},
        std::tuple{longest, "two.local", "192.0.2.31"}}) {
    board.say("publish", service(name, host, {address}));
    EXPECT_FALSE(watch.until(named("found", name)).empty());
  }
}

TEST_F(FindMdns, OfATxtKeyThatStandsTwiceTheFirstCountsAndAnEmptyRecordSaysNothing) {
  MdnsPeer board(network_->add_board(17));
  MdnsPeer empty(network_->add_board(18));
  json::object what = service("bobbin", "bobbin.local", {"192.0.2.17"});
  // "\5a=one" "\0" "\5A=two" "\3=no" "\4flag"
  what["raw_txt"] =
      "05613d6f6e65"
      "00"
      "05413d74776f"
      "033d6e6f"
      "04666c6167";
  board.say("publish", what);
  json::object nothing = service("cog", "cog.local", {"192.0.2.18"});
  nothing["raw_txt"] = "";
  empty.say("publish", nothing);
  const auto boards = parsed(find({"--no-ask", "--seconds", "10"}).out);
  ASSERT_EQ(boards.size(), 2u);
  EXPECT_EQ(boards[0].at("txt"), json::value(json::object{{"a", "one"}, {"flag", ""}}));
  EXPECT_TRUE(boards[1].at("txt").as_object().empty());
}

TEST_F(FindMdns, WhereNothingIsItSaysWhatToCheck) {
  const Ended found = find({"--seconds", "1"});
  EXPECT_EQ(found.exit_code, 1);
  EXPECT_EQ(found.out, "");
  EXPECT_NE(found.err.find("--sweep"), std::string::npos) << found.err;
  EXPECT_NE(found.err.find("multicast"), std::string::npos) << found.err;
}

TEST_F(FindMdns, TheFirstQueriesAreThoseOfTheStandard) {
  MdnsPeer board(network_->add_board(17));
  board.begin("listen", 5);
  EXPECT_EQ(board.read_line(), "listening");
  find({"--no-ask", "--seconds", "2"});
  // RFC 6762 §18, RFC 6763 §4: a query for PTR _http._tcp.local, class IN, without the unicast bit; id 0.
  const std::string question = "055f68747470045f746370056c6f63616c00000c0001";
  bool asked = false;
  for (const std::string& packet : board.finish()) {
    EXPECT_TRUE(packet.starts_with("00000000")) << packet;
    asked = asked || packet.find(question) != std::string::npos;
  }
  EXPECT_TRUE(asked);
}

TEST_F(FindMdns, BrokenPacketsAreNoHindrance) {
  MdnsPeer board(network_->add_board(17));
  FindWatch watch(*network_, {"--no-ask"});
  board.say("publish", service("anvil", "anvil.local", {"192.0.2.17"}));
  watch.until(named("found", "anvil"));
  board.say("noise", {{"seed", 1}, {"count", 5000}});
  board.say("publish", service("bobbin", "bobbin.local", {"192.0.2.17"}));
  board.say("goodbye", {"anvil", "_http._tcp"});
  EXPECT_FALSE(watch.until(named("found", "bobbin")).empty());
  EXPECT_EQ(watch.end(), 0);
}

}  // namespace
}  // namespace rookery::test
