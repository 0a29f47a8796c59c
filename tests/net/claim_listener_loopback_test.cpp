// Claims are heard from the group they are said to, and from nowhere else; the port is shared.
#include "net/claim_listener.h"

#include <gtest/gtest.h>

#include <atomic>
#include <mutex>
#include <thread>

#include <boost/asio.hpp>

#include "net/supervise.h"
#include "tests/support/eventually.h"

namespace rookery::net {
namespace {

namespace asio = boost::asio;
using asio::ip::udp;

// "anvil.local", asked for as ANY, with one record proposed (RFC 6762 §8.1).
constexpr std::string_view kProbe("\0\0\0\0\0\1\0\0\0\1\0\0\5anvil\5local\0\0\xff\0\1", 29);
constexpr std::string_view kQuestion("\0\0\0\0\0\1\0\0\0\0\0\0\5bobby\5local\0\0\xff\0\1", 29);

class ClaimListener : public testing::Test {
 protected:
  ~ClaimListener() override {
    heard_.stop();
    heard_.wait_for(std::chrono::seconds(5));
    work_.reset();
    io_.stop();
    thread_.join();
  }
  // A port of the group that nobody has: 5353 itself may be in use by this computer.
  static std::uint16_t free_port() {
    asio::io_context io;
    return udp::socket(io, udp::endpoint(asio::ip::address_v4::any(), 0)).local_endpoint().port();
  }
  void listen() {
    heard_ = supervise(io_.get_executor(), "mdns", [this] {
      return hear_claims(ClaimPlace(group_, {asio::ip::address_v4::loopback()}),
                         [this](const std::vector<std::string>& names, const asio::ip::address& from) {
                           const std::lock_guard lock(mutex_);
                           names_.insert(names_.end(), names.begin(), names.end());
                           from_ = from;
                         });
    });
  }
  void say(std::string_view packet) {
    udp::socket socket(io_, udp::v4());
    socket.set_option(asio::ip::multicast::outbound_interface(asio::ip::address_v4::loopback()));
    socket.send_to(asio::buffer(packet), group_);
  }
  std::vector<std::string> names() const {
    const std::lock_guard lock(mutex_);
    return names_;
  }

  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_{io_.get_executor()};
  std::thread thread_{[this] { io_.run(); }};
  const udp::endpoint group_{asio::ip::make_address_v4("224.0.0.251"), free_port()};
  Supervised heard_;
  mutable std::mutex mutex_;
  std::vector<std::string> names_;
  asio::ip::address from_;
};

TEST_F(ClaimListener, AProbeIsHeardWithWhereItCameFromThoughOthersHaveThePortToo) {
  udp::socket other(io_);
  other.open(udp::v4());
  other.set_option(udp::socket::reuse_address(true));
  other.bind({asio::ip::address_v4::any(), group_.port()});
  listen();
  // Said until it is heard: the listener may not be there yet.
  EXPECT_TRUE(test::eventually([&] {
    say(kQuestion);
    say(kProbe);
    return !names().empty();
  }));
  EXPECT_EQ(names().front(), "anvil.local") << "a question claims nothing";
  const std::lock_guard lock(mutex_);
  EXPECT_EQ(from_, asio::ip::make_address("127.0.0.1"));
}

TEST_F(ClaimListener, WhereThePortIsTakenForOneAloneItEndsByItself) {
  udp::socket other(io_);
  other.open(udp::v4());
  other.bind({asio::ip::address_v4::any(), group_.port()});
  listen();
  EXPECT_TRUE(test::eventually([&] { return heard_.ended(); }));
}

}  // namespace
}  // namespace rookery::net
