// A network of its own for tests: namespaces joined by a bridge, made and taken away by the test. Addresses
// and hardware addresses are those set aside for documentation (RFC 5737, 3849, 7042).
#pragma once

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <csignal>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <boost/json.hpp>

#include "tests/support/needs.h"
#include "tests/support/program.h"
#include "tests/support/temp_folder.h"

namespace rookery::test {

// Whether this test may make network namespaces.
inline bool may_make_networks() {
  const std::string name = fmt::format("rk{}-try", ::getpid());
  const bool made = run_program({"ip", "netns", "add", name}).exit_code == 0;
  if (made) run_program({"ip", "netns", "delete", name});
  return made;
}

#define ROOKERY_NEEDS_NETWORKS()                                \
  ROOKERY_NEEDS_PROGRAM("ip", "iproute2");                      \
  ROOKERY_NEEDS_OF_KERNEL(::rookery::test::may_make_networks(), \
                          "no network namespaces (needs to be run as root)")

// Where the station is: 192.0.2.1 and 2001:db8::1.
class HallNetwork {
 public:
  HallNetwork() : hall_(name("hall")) {
    ip({"netns", "add", hall_});
    in(hall_, {"link", "add", "hall", "type", "bridge", "mcast_snooping", "0"});
    in(hall_, {"address", "add", "192.0.2.1/24", "dev", "hall"});
    in(hall_, {"address", "add", "2001:db8::1/64", "dev", "hall", "nodad"});
    in(hall_, {"link", "set", "lo", "up"});
    in(hall_, {"link", "set", "hall", "up"});
  }
  ~HallNetwork() {
    for (const std::string& board : boards_) run_program({"ip", "netns", "delete", board});
    run_program({"ip", "netns", "delete", hall_});
  }
  HallNetwork(const HallNetwork&) = delete;
  HallNetwork& operator=(const HallNetwork&) = delete;

  // A board's namespace: 192.0.2.N, 2001:db8::N, 00:00:5e:00:53:N (N two decimal digits).
  std::string add_board(int number) {
    const std::string board = name(fmt::format("b{}", number));
    const std::string port = fmt::format("port{}", number);
    boards_.push_back(board);
    ip({"netns", "add", board});
    in(hall_, {"link", "add", port, "type", "veth", "peer", "name", "radio", "netns", board});
    in(hall_, {"link", "set", port, "master", "hall", "up"});
    in(board, {"link", "set", "radio", "address", fmt::format("00:00:5e:00:53:{:02}", number)});
    in(board, {"address", "add", fmt::format("192.0.2.{}/24", number), "dev", "radio"});
    in(board, {"address", "add", fmt::format("2001:db8::{}/64", number), "dev", "radio", "nodad"});
    in(board, {"link", "set", "lo", "up"});
    in(board, {"link", "set", "radio", "up"});
    in(board, {"route", "add", "224.0.0.0/4", "dev", "radio"});
    return board;
  }
  // An address more, or one less, as after a new lease.
  void change_address(const std::string& board, const char* how, const std::string& address) {
    in(board, {"address", how, address, "dev", "radio"});
  }

  const std::string& hall() const { return hall_; }
  // The command line that runs `words` there.
  static std::vector<std::string> inside(const std::string& space, std::vector<std::string> words) {
    std::vector<std::string> out{"ip", "netns", "exec", space};
    out.insert(out.end(), words.begin(), words.end());
    return out;
  }

 private:
  static std::string name(const std::string& part) {
    static int made = 0;
    return fmt::format("rk{}-{}-{}", ::getpid(), made++, part);
  }
  static void ip(std::vector<std::string> words) {
    words.insert(words.begin(), "ip");
    const Ended ended = run_program(words);
    EXPECT_EQ(ended.exit_code, 0) << fmt::format("{}", fmt::join(words, " ")) << ": " << ended.err;
  }
  static void in(const std::string& space, std::vector<std::string> words) {
    words.insert(words.begin(), {"-n", space});
    ip(std::move(words));
  }

  std::string hall_;
  std::vector<std::string> boards_;
};

// mdns_peer.py in a namespace.
class MdnsPeer {
 public:
  explicit MdnsPeer(const std::string& space) {
    const std::string pipe = (folder_.path() / "commands").string();
    EXPECT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
    commands_ = ::open(pipe.c_str(), O_RDWR | O_CLOEXEC);
    program_ = std::make_unique<Background>(HallNetwork::inside(
        space, {"/usr/bin/python3", std::string(SOURCE_ROOT) + "/tests/find/mdns_peer.py", pipe}));
    EXPECT_EQ(program_->read_line(std::chrono::seconds(60)), "ready") << program_->err();
  }
  ~MdnsPeer() { ::close(commands_); }
  MdnsPeer(const MdnsPeer&) = delete;
  MdnsPeer& operator=(const MdnsPeer&) = delete;

  void begin(const std::string& command, const boost::json::value& what) {
    const std::string line = command + " " + boost::json::serialize(what) + "\n";
    EXPECT_EQ(::write(commands_, line.data(), line.size()), static_cast<ssize_t>(line.size()));
  }
  // The lines up to "ok".
  std::vector<std::string> finish() {
    std::vector<std::string> lines;
    for (;;) {
      auto line = program_->read_line(std::chrono::seconds(60));
      if (!line) {
        ADD_FAILURE() << "the peer says nothing: " << program_->err();
        return lines;
      }
      if (*line == "ok") return lines;
      lines.push_back(std::move(*line));
    }
  }
  std::vector<std::string> say(const std::string& command, const boost::json::value& what) {
    begin(command, what);
    return finish();
  }
  std::optional<std::string> read_line() { return program_->read_line(); }

 private:
  TempFolder folder_;
  int commands_ = -1;
  std::unique_ptr<Background> program_;
};

// `rookery find --json --watch` in the hall.
class FindWatch {
 public:
  FindWatch(const HallNetwork& network, std::vector<std::string> more) {
    std::vector<std::string> words{ROOKERY_PROGRAM, "find",   "--watch",
                                   "--json",        "--home", folder_.path().string()};
    words.insert(words.end(), more.begin(), more.end());
    program_ = std::make_unique<Background>(HallNetwork::inside(network.hall(), words));
  }
  // The next line of which this is true; null when none comes within a generous time.
  boost::json::object until(const std::function<bool(const boost::json::object&)>& good) {
    std::string all;
    while (auto line = program_->read_line()) {
      all += *line + '\n';
      boost::json::object object = boost::json::parse(*line).as_object();
      if (good(object)) return object;
    }
    ADD_FAILURE() << "not seen; what was:\n" << all << program_->err();
    return {};
  }
  int end() { return program_->end(SIGTERM); }

 private:
  TempFolder folder_;
  std::unique_ptr<Background> program_;
};

}  // namespace rookery::test
