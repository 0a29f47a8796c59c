// `rookery find` and the station against boards that speak HTTP, on a network of their own.
#include <fstream>
#include <sstream>

#include "tests/find/hall_network.h"
#include "tests/support/eventually.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

// http_board.py in a namespace; what it was asked.
class HttpBoard {
 public:
  HttpBoard(const std::string& space, const char* kind)
      : program_(HallNetwork::inside(
            space, {"/usr/bin/python3", std::string(SOURCE_ROOT) + "/tests/find/http_board.py", kind})) {
    EXPECT_EQ(program_.read_line(std::chrono::seconds(60)), "ready") << program_.err();
  }
  std::vector<std::string> asked() {
    program_.end(SIGTERM);
    std::vector<std::string> out;
    while (auto line = program_.read_line(std::chrono::seconds(1))) out.push_back(std::move(*line));
    return out;
  }

 private:
  Background program_;
};

json::object announced(const std::string& name, const std::string& address) {
  return {{"instance", name}, {"type", "_http._tcp"},   {"host", name + ".local"},
          {"port", 80},       {"addresses", {address}}, {"careless", true}};
}

class FindBoards : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_NETWORKS();
    ROOKERY_NEEDS(run_program({"/usr/bin/python3", "-c", "import zeroconf"}).exit_code == 0,
                  "python3-zeroconf is not installed (Debian package python3-zeroconf)");
    network_ = std::make_unique<HallNetwork>();
  }
  std::vector<std::string> rookery(std::vector<std::string> words) const {
    words.insert(words.begin(), ROOKERY_PROGRAM);
    words.insert(words.end(), {"--home", folder_.path().string()});
    return HallNetwork::inside(network_->hall(), words);
  }
  std::vector<json::object> find(std::vector<std::string> more) const {
    std::vector<std::string> words{"find", "--json"};
    words.insert(words.end(), more.begin(), more.end());
    const Ended found = run_program(rookery(words));
    EXPECT_EQ(found.exit_code, 0) << found.err;
    std::vector<json::object> out;
    std::istringstream in(found.out);
    for (std::string line; std::getline(in, line);) out.push_back(json::parse(line).as_object());
    return out;
  }

  TempFolder folder_;
  std::unique_ptr<HallNetwork> network_;
};

TEST_F(FindBoards, ABoardIsAskedForAStillAndForNoMoreThanTheBeginningOfOneStream) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "camera");
  MdnsPeer peer(space);
  peer.say("publish", announced("bobbin", "192.0.2.17"));
  const auto found = find({});
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].at("answers").at("kind").as_string(), "camera");
  EXPECT_EQ(found[0].at("answers").at("still_address").as_string(), "http://192.0.2.17:80/still");
  EXPECT_EQ(found[0].at("answers").at("stream_address").as_string(), "http://192.0.2.17:81/stream");
  EXPECT_TRUE(found[0].at("camera").is_null());
  EXPECT_EQ(board.asked(), (std::vector<std::string>{"80 /still", "81 /stream"}));
}

TEST_F(FindBoards, ABoardOfAKindOfOnesOwnIsAskedByItsProfileFirst) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "own");
  MdnsPeer peer(space);
  peer.say("publish", announced("bobbin", "192.0.2.17"));
  std::filesystem::create_directory(folder_.path() / "profiles");
  std::ofstream(folder_.path() / "profiles" / "bench.toml")
      << "[still]\npath = \"/picture\"\n[stream]\nport = 9000\npath = \"/eye\"\n";
  const auto found = find({});
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].at("answers").at("still_address").as_string(), "http://192.0.2.17:80/picture");
  EXPECT_EQ(found[0].at("answers").at("stream_address").as_string(), "http://192.0.2.17:9000/eye");
  EXPECT_EQ(board.asked(), (std::vector<std::string>{"80 /picture", "9000 /eye"}));
}

TEST_F(FindBoards, ABrokenProfileIsToldAndTheOthersAreAsked) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "camera");
  MdnsPeer peer(space);
  peer.say("publish", announced("bobbin", "192.0.2.17"));
  std::filesystem::create_directory(folder_.path() / "profiles");
  std::ofstream(folder_.path() / "profiles" / "bench.toml") << "[still]\nprot = 80\n";
  const Ended found = run_program(rookery({"find"}));
  EXPECT_EQ(found.exit_code, 0);
  EXPECT_NE(found.err.find("this profile is left out: "), std::string::npos) << found.err;
  EXPECT_NE(found.err.find("bench.toml line"), std::string::npos) << found.err;
  EXPECT_NE(found.out.find("still, stream"), std::string::npos) << found.out;
}

TEST_F(FindBoards, ACameraThatIsKnownIsNotAsked) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "camera");
  MdnsPeer peer(space);
  peer.say("publish", announced("bobbin", "192.0.2.17"));
  ASSERT_EQ(run_program(rookery({"camera", "add", "bobbin", "http://192.0.2.17:81/stream"})).exit_code, 0);
  const auto found = find({});
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].at("camera").at("name").as_string(), "bobbin");
  EXPECT_FALSE(found[0].at("camera").at("moved").as_bool());
  EXPECT_TRUE(board.asked().empty());
}

TEST_F(FindBoards, ACameraWhoseBoardAnnouncesOnlyItsHostNameIsFoundByThat) {
  MdnsPeer peer(network_->add_board(17));
  peer.say("host", {{"host", "bobbin.local"}, {"address", "192.0.2.17"}});
  EXPECT_EQ(run_program(rookery({"find", "--seconds", "2"})).exit_code, 1) << "nobody can ask for all hosts";
  ASSERT_EQ(run_program(rookery({"camera", "add", "bobbin", "http://bobbin.local/stream"})).exit_code, 0);
  const auto found = find({});
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].at("host").as_string(), "bobbin.local");
  EXPECT_TRUE(found[0].at("types").as_array().empty());
  EXPECT_EQ(found[0].at("addresses").as_array().at(0).as_string(), "192.0.2.17");
  EXPECT_EQ(found[0].at("camera").at("name").as_string(), "bobbin");
}

TEST_F(FindBoards, AThingThatIsNoCameraIsShownAsSuch) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "page");
  MdnsPeer peer(space);
  peer.say("publish", announced("counter", "192.0.2.17"));
  MdnsPeer nobody(network_->add_board(18));
  nobody.say("publish", announced("ghost", "192.0.2.99"));
  const auto found = find({});
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[0].at("answers").at("kind").as_string(), "no-camera");
  EXPECT_EQ(found[1].at("answers").at("kind").as_string(), "silent");
}

TEST_F(FindBoards, TheSweepFindsABoardThatAnnouncesNothingAndSaysWhatItDoes) {
  HttpBoard board(network_->add_board(17), "camera");
  const Ended without = run_program(rookery({"find", "--seconds", "1"}));
  EXPECT_EQ(without.exit_code, 1);
  const Ended swept = run_program(rookery({"find", "--sweep"}));
  EXPECT_EQ(swept.exit_code, 0) << swept.err;
  EXPECT_NE(swept.err.find("knocks at 253 addresses (192.0.2.0/24 on hall)"), std::string::npos) << swept.err;
  EXPECT_NE(swept.out.find("192.0.2.17"), std::string::npos) << swept.out;
  EXPECT_NE(swept.out.find("still, stream"), std::string::npos) << swept.out;
  EXPECT_NE(swept.err.find("rookery camera add camera http://192.0.2.17:81/stream"), std::string::npos)
      << swept.err;
}

// The whole way: learned while it sends, lost, announced elsewhere, followed.
TEST_F(FindBoards, ACameraWhoseBoardGetsANewAddressIsFollowed) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "camera");
  ASSERT_EQ(run_program(rookery({"camera", "add", "bobbin", "http://192.0.2.17:81/stream"})).exit_code, 0);
  Background station(rookery({"serve", "--listen", "127.0.0.1:7420"}));
  const auto asked = [this](const char* query) {
    return run_program({"sqlite3", (folder_.path() / "catalog.db").string(), query}).out;
  };
  ASSERT_TRUE(eventually([&] { return asked("SELECT hardware FROM board") == "00:00:5e:00:53:17\n"; },
                         std::chrono::seconds(30)));
  EXPECT_TRUE(eventually([&] { return asked("SELECT fingerprint FROM board").starts_with("stream:"); }))
      << "learned from the stream that is pulled anyway";
  network_->change_address(space, "del", "192.0.2.17/24");
  network_->change_address(space, "add", "192.0.2.31/24");
  // It starts anew, as a board does that was away: zeroconf's sockets are bound to the address.
  MdnsPeer peer(space);
  peer.say("publish", announced("bobbin", "192.0.2.31"));
  EXPECT_TRUE(eventually(
      [&] { return asked("SELECT stream_address FROM camera") == "http://192.0.2.31:81/stream\n"; },
      std::chrono::seconds(80)))
      << station.err();
  EXPECT_EQ(asked("SELECT moved_from, moved_to FROM board"), "192.0.2.17|192.0.2.31\n");
  EXPECT_EQ(station.end(SIGTERM), 0);
  EXPECT_NE(station.err().find("bobbin moved from 192.0.2.17 to 192.0.2.31"), std::string::npos)
      << station.err();
}

// Behind a router the neighbour table has no hardware address; here it is taken out of what was learned.
TEST_F(FindBoards, WithoutAHardwareAddressNameAndAnswersTellABoardAndItsAnswersAloneASuspect) {
  const std::string space = network_->add_board(17);
  HttpBoard board(space, "camera");
  const auto sql = [this](const std::string& command) {
    return run_program({"sqlite3", (folder_.path() / "catalog.db").string(), command}).out;
  };
  ASSERT_EQ(run_program(rookery({"camera", "add", "bobbin", "http://192.0.2.17:81/stream"})).exit_code, 0);
  {
    Background station(rookery({"serve", "--listen", "127.0.0.1:7420"}));
    ASSERT_TRUE(eventually([&] { return sql("SELECT fingerprint FROM board").starts_with("stream:"); },
                           std::chrono::seconds(30)));
    EXPECT_EQ(station.end(SIGTERM), 0);
  }
  sql("UPDATE board SET hardware = '', announced = 'bobbin', host = '192.0.2.99';"
      "UPDATE camera SET stream_address = 'http://192.0.2.99:81/stream'");
  {
    MdnsPeer peer(space);
    peer.say("publish", announced("bobbin", "192.0.2.17"));
    const auto found = find({});
    ASSERT_EQ(found.size(), 1u);
    const json::object& camera = found[0].at("camera").as_object();
    EXPECT_EQ(camera.at("sureness").as_string(), "likely");
    EXPECT_EQ(camera.at("by").as_string(), "its announced name and its answers");
    EXPECT_TRUE(camera.at("moved").as_bool());
  }
  sql("UPDATE board SET announced = ''");
  const auto swept = find({"--sweep"});
  ASSERT_EQ(swept.size(), 1u);
  const json::object& camera = swept[0].at("camera").as_object();
  EXPECT_EQ(camera.at("name").as_string(), "bobbin");
  EXPECT_EQ(camera.at("sureness").as_string(), "weak");
  EXPECT_EQ(camera.at("by").as_string(), "its answers");
  EXPECT_EQ(swept[0].at("words").at("camera").as_string(), "bobbin, moved here?");
}

}  // namespace
}  // namespace rookery::test
