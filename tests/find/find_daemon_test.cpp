// `rookery find` beside and against Debian's avahi-daemon.
#include <fstream>
#include <set>

#include "tests/find/hall_network.h"
#include "tests/support/eventually.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

// avahi-daemon in a namespace with a message bus, a service folder and a run folder of its own.
class Daemon {
 public:
  Daemon(const std::string& space, const std::string& host, const std::string& service) : space_(space) {
    const auto folder = folder_.path();
    std::filesystem::create_directories(folder / "services");
    std::filesystem::permissions(folder, std::filesystem::perms::all);
    std::ofstream(folder / "bus.conf")
        << "<busconfig><type>system</type><auth>EXTERNAL</auth><listen>" << bus()
        << "</listen><policy context=\"default\"><allow user=\"*\"/><allow own=\"*\"/>"
           "<allow send_type=\"*\"/><allow receive_type=\"*\"/></policy></busconfig>";
    std::ofstream(folder / "daemon.conf")
        << "[server]\nhost-name=" << host << "\nuse-ipv4=yes\nuse-ipv6=yes\n"
        << "[publish]\npublish-workstation=no\n";
    if (!service.empty()) {
      std::ofstream(folder / "services" / "board.service")
          << "<?xml version=\"1.0\"?><service-group><name>" << service
          << "</name><service><type>_http._tcp</type><port>80</port></service></service-group>";
    }
    bus_ = std::make_unique<Background>(
        HallNetwork::inside(space, {"dbus-daemon", "--config-file", (folder / "bus.conf").string(),
                                    "--nofork", "--nopidfile", "--print-address"}));
    EXPECT_TRUE(bus_->read_line()) << bus_->err();
    const std::string script = "mount --bind " + (folder / "services").string() +
                               " /etc/avahi/services && mount -t tmpfs none /run/avahi-daemon && exec env "
                               "DBUS_SYSTEM_BUS_ADDRESS=" +
                               bus() + " avahi-daemon --no-drop-root --no-chroot --no-rlimits -f " +
                               (folder / "daemon.conf").string();
    daemon_ = std::make_unique<Background>(
        HallNetwork::inside(space, {"sh", "-c", "mkdir -p /run/avahi-daemon && " + script}));
  }
  // What avahi-browse of the same namespace sees.
  std::string browse() const {
    return run_program(HallNetwork::inside(space_, {"env", "DBUS_SYSTEM_BUS_ADDRESS=" + bus(), "avahi-browse",
                                                    "-rpt", "_http._tcp"}))
        .out;
  }
  std::string err() const { return daemon_->err(); }

 private:
  std::string bus() const { return "unix:path=" + (folder_.path() / "bus").string(); }

  std::string space_;
  TempFolder folder_;
  std::unique_ptr<Background> bus_;
  std::unique_ptr<Background> daemon_;
};

class FindDaemon : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_NETWORKS();
    ROOKERY_NEEDS_PROGRAM("avahi-daemon", "avahi-daemon");
    ROOKERY_NEEDS_PROGRAM("avahi-browse", "avahi-utils");
    ROOKERY_NEEDS_PROGRAM("dbus-daemon", "dbus");
    network_ = std::make_unique<HallNetwork>();
  }
  std::unique_ptr<HallNetwork> network_;
};

TEST_F(FindDaemon, ABoardThatAvahiAnnouncesIsFound) {
  const Daemon board(network_->add_board(17), "anvil", "Anvil camera");
  FindWatch watch(*network_, {"--no-ask"});
  const auto found = watch.until([](const json::object& line) {
    return line.at("name").is_string() && line.at("name").as_string() == "Anvil camera" &&
           line.at("addresses").as_array().size() >= 2;
  });
  ASSERT_FALSE(found.empty()) << board.err();
  EXPECT_EQ(found.at("host").as_string(), "anvil.local");
}

TEST_F(FindDaemon, ABoardThatStartsIsHeardByTheStationThatHasItsCamera) {
  const TempFolder home;
  const auto rookery = [&](std::vector<std::string> words) {
    words.insert(words.begin(), ROOKERY_PROGRAM);
    words.insert(words.end(), {"--home", home.path().string()});
    return HallNetwork::inside(network_->hall(), words);
  };
  const std::string space = network_->add_board(17);
  ASSERT_EQ(run_program(rookery({"camera", "add", "anvil", "http://192.0.2.17:81/stream"})).exit_code, 0);
  Background station(rookery({"serve", "--listen", "127.0.0.1:7420", "--verbose"}));
  const auto heard = [&] {
    return station.err().find("anvil: its board announces itself from 192.0.2.17: ") != std::string::npos;
  };
  // It starts again and again: the station may not have been there yet.
  for (int n = 0; n < 6 && !heard(); ++n) {
    const Daemon board(space, "anvil", "Anvil camera");
    eventually(heard, std::chrono::seconds(5));
  }
  EXPECT_TRUE(heard()) << station.err();
}

TEST_F(FindDaemon, ANameWithDotsIsShownAsItIs) {
  const Daemon board(network_->add_board(17), "kiln", "kiln v1.2 (left)");
  FindWatch watch(*network_, {"--no-ask"});
  const auto found = watch.until([](const json::object& line) {
    return line.at("name").is_string() && line.at("name").as_string() == "kiln v1.2 (left)" &&
           !line.at("addresses").as_array().empty();
  });
  EXPECT_FALSE(found.empty()) << board.err();
}

TEST_F(FindDaemon, TwoBoardsThatWantOneNameAndSettleItAreTwoNames) {
  const Daemon one(network_->add_board(17), "anvil", "Anvil camera");
  const Daemon other(network_->add_board(18), "anvil", "Anvil camera");
  FindWatch watch(*network_, {"--no-ask"});
  std::set<std::string> names;
  watch.until([&names](const json::object& line) {
    if (line.at("name").is_string() && !line.at("addresses").as_array().empty())
      names.emplace(line.at("name").as_string());
    return names.size() >= 2;
  });
  EXPECT_EQ(names, (std::set<std::string>{"Anvil camera", "Anvil camera #2"}));
}

TEST_F(FindDaemon, ADaemonThatRunsHereIsLeftAloneAndLeavesUsAlone) {
  const Daemon here(network_->hall(), "hall", "Hall page");
  const Daemon board(network_->add_board(17), "anvil", "Anvil camera");
  ASSERT_TRUE(
      eventually([&] { return here.browse().find("Anvil") != std::string::npos; }, std::chrono::seconds(30)))
      << here.err();
  FindWatch watch(*network_, {"--no-ask"});
  const auto found = watch.until([](const json::object& line) {
    return line.at("name").is_string() && line.at("name").as_string() == "Anvil camera" &&
           !line.at("addresses").as_array().empty();
  });
  ASSERT_FALSE(found.empty());
  // While ours runs, the daemon still sees what it saw, and its own name is not lost.
  EXPECT_NE(here.browse().find("Anvil"), std::string::npos);
  EXPECT_NE(board.browse().find("Hall"), std::string::npos);
  EXPECT_EQ(here.err().find("conflict"), std::string::npos) << here.err();
}

}  // namespace
}  // namespace rookery::test
