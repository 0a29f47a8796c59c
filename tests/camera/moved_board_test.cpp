#include "camera/moved_board.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

Settings bobbin() {
  Settings settings(base::CameraName::parse("bobbin").value());
  settings.stream_address = "http://192.0.2.17:81/stream?size=5";
  settings.still_address = "http://192.0.2.17/still";
  return settings;
}

FoundBoard found(const std::vector<std::string>& addresses, Sureness sureness,
                 bool at_settings_address = false) {
  FoundBoard board;
  for (const auto& one : addresses) board.addresses.push_back(boost::asio::ip::make_address(one));
  board.known = BoardMatch{bobbin().name, sureness, "", at_settings_address};
  return board;
}

TEST(MovedBoard, OnlyAnIpAddressHasToBeFollowed) {
  Settings settings = bobbin();
  EXPECT_EQ(literal_host(settings), "192.0.2.17");
  settings.stream_address = "http://bobbin.local:81/stream";
  EXPECT_EQ(literal_host(settings), std::nullopt);
  settings.source = Source::pushed;
  EXPECT_EQ(literal_host(settings), std::nullopt);
}

TEST(MovedBoard, IsFollowedByItsHardwareAddressInTheSameFamily) {
  const std::vector boards{found({"2001:db8::31", "192.0.2.31"}, Sureness::sure)};
  EXPECT_EQ(new_host(bobbin(), boards), "192.0.2.31");
}

TEST(MovedBoard, ByNameAndAnswersOnlyWithoutAPassword) {
  const std::vector boards{found({"192.0.2.31"}, Sureness::likely)};
  Settings settings = bobbin();
  EXPECT_EQ(new_host(settings, boards), "192.0.2.31");
  settings.user = "hall";
  settings.password = "secret";
  EXPECT_EQ(new_host(settings, boards), std::nullopt);
}

TEST(MovedBoard, WhoIsWhereTheSettingsSayOrOnlyHasTheNameOrIsTwoStays) {
  EXPECT_EQ(new_host(bobbin(), std::vector{found({"192.0.2.17"}, Sureness::sure, true)}), std::nullopt);
  EXPECT_EQ(new_host(bobbin(), std::vector{found({"192.0.2.31"}, Sureness::weak)}), std::nullopt);
  EXPECT_EQ(new_host(bobbin(), std::vector{found({"192.0.2.31"}, Sureness::sure),
                                           found({"192.0.2.32"}, Sureness::sure)}),
            std::nullopt);
  EXPECT_EQ(new_host(bobbin(), std::vector{found({"fe80::1%2"}, Sureness::sure)}), std::nullopt);
}

TEST(MovedBoard, BothAddressesMoveWithPortPathAndQuery) {
  Settings settings = bobbin();
  move_addresses(settings, "192.0.2.17", "2001:db8::31");
  EXPECT_EQ(settings.stream_address, "http://[2001:db8::31]:81/stream?size=5");
  EXPECT_EQ(settings.still_address, "http://[2001:db8::31]/still");
  move_addresses(settings, "192.0.2.99", "192.0.2.17");
  EXPECT_EQ(settings.still_address, "http://[2001:db8::31]/still");
}

}  // namespace
}  // namespace rookery::camera
