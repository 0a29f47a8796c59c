// What makes two addresses one board, and that one board is held by one camera at a time.
#include "camera/board_register.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using boost::asio::ip::make_address;
using boost::asio::ip::tcp;

std::string key(std::string_view address) { return board_key(address).value(); }

TEST(BoardKey, IsOneHoweverTheAddressIsWritten) {
  for (const char* address :
       {"http://cog.lan/stream", "HTTP://COG.lan/stream", "http://cog.lan:80/stream",
        "http://cog.lan:080/stream", "http://cog.lan./stream", "http://c%6Fg.lan/stream",
        "http://cog.lan/%73tream", "http://cog.lan/x/../stream", "http://cog.lan/./stream",
        "http://cog.lan/stream?size=6", "https://cog.lan:80/stream", " http://cog.lan/stream "}) {
    EXPECT_EQ(key(address), key("http://cog.lan/stream")) << address;
  }
  EXPECT_EQ(key("http://cog.lan"), key("http://cog.lan/"));
  EXPECT_EQ(key("http://cog.lan/a%2fb"), key("http://cog.lan/a%2Fb"));
  EXPECT_EQ(key("https://cog.lan/s"), key("https://cog.lan:443/s"));
}

TEST(BoardKey, IpAddressesHaveOneForm) {
  EXPECT_EQ(key("http://[::ffff:192.0.2.17]:81/s"), key("http://192.0.2.17:81/s"));
  EXPECT_EQ(key("http://[::ffff:c000:211]:81/s"), key("http://192.0.2.17:81/s"));
  EXPECT_EQ(key("http://[2001:DB8:0:0::17]/s"), key("http://[2001:db8::17]/s"));
}

TEST(BoardKey, DifferentBoardsAreNotTakenForOne) {
  // Behind one host: another port is another board, and a gateway may give each a path.
  EXPECT_NE(key("http://gate.lan:8081/stream"), key("http://gate.lan:8082/stream"));
  EXPECT_NE(key("http://gate.lan/anvil"), key("http://gate.lan/bobbin"));
  EXPECT_NE(key("http://gate.lan/Anvil"), key("http://gate.lan/anvil"));
  EXPECT_NE(key("http://gate.lan/a%2Fb"), key("http://gate.lan/a/b"));
  EXPECT_NE(key("http://cog.lan/stream"), key("http://cog.lan.home/stream"));
  EXPECT_NE(key("http://cog.lan/stream"), key("https://cog.lan/stream"));  // port 80 and port 443
}

class Seats : public testing::Test {
 protected:
  static net::Address address(std::string_view text) { return net::Address::parse(text).value(); }
  static tcp::endpoint at(const char* ip, std::uint16_t port) { return {make_address(ip), port}; }

  const std::shared_ptr<BoardRegister> boards = std::make_shared<BoardRegister>();
  BoardRegister::Seat anvil{boards, "anvil"};
  BoardRegister::Seat bobbin{boards, "bobbin"};
};

TEST_F(Seats, TwoNamesOfOneBoardAreOneBoard) {
  ASSERT_TRUE(anvil.take({at("192.0.2.17", 81)}, address("http://cog.lan:81/stream")));
  const auto refused = bobbin.take({at("192.0.2.17", 81)}, address("http://back.lan:81/stream?x=1"));
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, base::ErrorCode::busy);
  EXPECT_NE(refused.error().detail.find("\"anvil\""), std::string::npos) << refused.error().text();
  EXPECT_NE(refused.error().detail.find("192.0.2.17:81/stream"), std::string::npos) << refused.error().text();
  anvil.leave();
  EXPECT_TRUE(bobbin.take({at("192.0.2.17", 81)}, address("http://back.lan:81/stream")));
}

TEST_F(Seats, OneCommonEndpointIsEnough) {
  ASSERT_TRUE(anvil.take({at("2001:db8::17", 81), at("192.0.2.17", 81)}, address("http://cog.lan:81/s")));
  EXPECT_FALSE(bobbin.take({at("2001:db8::17", 81)}, address("http://six.lan:81/s")));
  EXPECT_FALSE(bobbin.take({at("::ffff:192.0.2.17", 81)}, address("http://four.lan:81/s")));
}

TEST_F(Seats, AnotherPortOrPathIsAnotherBoard) {
  ASSERT_TRUE(anvil.take({at("192.0.2.17", 8081)}, address("http://gate.lan:8081/s")));
  EXPECT_TRUE(bobbin.take({at("192.0.2.17", 8082)}, address("http://gate.lan:8082/s")));
  EXPECT_TRUE(bobbin.take({at("192.0.2.17", 8081)}, address("http://gate.lan:8081/t")));
}

TEST_F(Seats, OneCameraTakesItsOwnBoardAgainAndGivesBackTheOneBefore) {
  for (int i = 0; i < 3; ++i) ASSERT_TRUE(anvil.take({at("192.0.2.17", 81)}, address("http://cog.lan:81/s")));
  ASSERT_TRUE(anvil.take({at("192.0.2.18", 81)}, address("http://cog.lan:81/s")));
  EXPECT_TRUE(bobbin.take({at("192.0.2.17", 81)}, address("http://cog.lan:81/s")));
}

TEST_F(Seats, WhoIsRefusedTakesNothing) {
  ASSERT_TRUE(anvil.take({at("192.0.2.17", 81)}, address("http://cog.lan:81/s")));
  ASSERT_FALSE(bobbin.take({at("192.0.2.99", 81), at("192.0.2.17", 81)}, address("http://x.lan:81/s")));
  BoardRegister::Seat cog{boards, "cog"};
  EXPECT_TRUE(cog.take({at("192.0.2.99", 81)}, address("http://y.lan:81/s")));
}

TEST_F(Seats, TheSeatOfACameraThatIsGoneIsFree) {
  {
    BoardRegister::Seat cog{boards, "cog"};
    ASSERT_TRUE(cog.take({at("192.0.2.17", 81)}, address("http://cog.lan:81/s")));
  }
  EXPECT_TRUE(anvil.take({at("192.0.2.17", 81)}, address("http://cog.lan:81/s")));
}

}  // namespace
}  // namespace rookery::camera
