#include "net/tcp_vitals.h"

#include <gtest/gtest.h>

#include <unistd.h>

#include <boost/asio.hpp>

#include "tests/support/scripted_peer.h"

namespace rookery::net {
namespace {

TEST(TcpVitals, CountWhatTheOtherSideSent) {
  test::ScriptedPeer peer;
  boost::asio::io_context context;
  boost::asio::ip::tcp::socket socket(context);
  socket.connect({boost::asio::ip::address_v4::loopback(), peer.port()});
  const auto connection = peer.accept();
  ASSERT_TRUE(connection);
  const auto before = read_tcp_vitals(socket.native_handle());
  ASSERT_TRUE(before);
  EXPECT_EQ(before->bytes_in, 0U);
  constexpr std::size_t kBytes = 100'000;
  ASSERT_TRUE(connection->send(std::string(kBytes, 'a')));
  std::vector<char> got(kBytes);
  boost::asio::read(socket, boost::asio::buffer(got));
  const auto after = read_tcp_vitals(socket.native_handle());
  ASSERT_TRUE(after);
  EXPECT_EQ(after->bytes_in, kBytes);
  EXPECT_GT(after->segments_in, 0U);
  EXPECT_EQ(after->out_of_order_in, 0U);  // loopback keeps the order
  EXPECT_LT(after->since_last_data, std::chrono::seconds(10));
}

TEST(TcpVitals, OfWhatIsNoTcpSocketThereAreNone) {
  EXPECT_FALSE(read_tcp_vitals(-1));
  EXPECT_FALSE(read_tcp_vitals(STDERR_FILENO));
}

}  // namespace
}  // namespace rookery::net
