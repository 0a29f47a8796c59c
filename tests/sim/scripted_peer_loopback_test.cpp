#include "tests/support/scripted_peer.h"

#include <gtest/gtest.h>

#include "sim_support.h"

namespace rookery {
namespace {

using Tcp = boost::asio::ip::tcp;

Tcp::socket connect_to(boost::asio::io_context& context, const test::ScriptedPeer& peer) {
  Tcp::socket socket(context);
  socket.connect(Tcp::endpoint(boost::asio::ip::address_v4::loopback(), peer.port()));
  return socket;
}

TEST(ScriptedPeer, SendsWhenToldAndRecordsWhatCame) {
  test::ScriptedPeer peer;
  boost::asio::io_context context;
  Tcp::socket socket = connect_to(context, peer);
  const auto connection = peer.accept();
  ASSERT_NE(connection, nullptr);
  boost::asio::write(socket, boost::asio::buffer(std::string("GET / HTTP/1.1\r\n\r\n")));
  EXPECT_TRUE(connection->wait_for("\r\n\r\n"));
  EXPECT_EQ(connection->received(), "GET / HTTP/1.1\r\n\r\n");
  EXPECT_TRUE(connection->send("half"));
  connection->half_close();
  std::string got;
  boost::system::error_code error;
  boost::asio::read(socket, boost::asio::dynamic_buffer(got), error);
  EXPECT_EQ(got, "half");
  EXPECT_EQ(error, boost::asio::error::eof);
  socket.close();
  EXPECT_TRUE(connection->wait_closed());
  EXPECT_EQ(peer.connections(), 1);
}

TEST(ScriptedPeer, ResetReachesTheOtherSideAsReset) {
  test::ScriptedPeer peer;
  boost::asio::io_context context;
  Tcp::socket socket = connect_to(context, peer);
  const auto connection = peer.accept();
  ASSERT_NE(connection, nullptr);
  connection->reset();
  char byte = 0;
  boost::system::error_code error;
  boost::asio::read(socket, boost::asio::buffer(&byte, 1), error);
  EXPECT_EQ(error, boost::asio::error::connection_reset);
}

TEST(ScriptedPeer, AnswersAlwaysWithoutTheTest) {
  test::ScriptedPeer peer;
  peer.always_answer({"HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\n", "abc"});
  EXPECT_EQ(sim::test::output_of("curl -s " + peer.address("/x")), "abc");
  EXPECT_EQ(sim::test::output_of("curl -s " + peer.address("/y")), "abc");
  EXPECT_EQ(peer.connections(), 2);
}

TEST(ScriptedPeer, RefusesAfterItStopped) {
  test::ScriptedPeer peer;
  peer.stop_listening();
  boost::asio::io_context context;
  Tcp::socket socket(context);
  boost::system::error_code error;
  socket.connect(Tcp::endpoint(boost::asio::ip::address_v4::loopback(), peer.port()), error);
  EXPECT_EQ(error, boost::asio::error::connection_refused);
}

}  // namespace
}  // namespace rookery
