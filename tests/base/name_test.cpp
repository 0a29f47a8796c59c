// Which names a camera may have, and what the refusal says.
#include "base/name.h"

#include <gtest/gtest.h>

namespace rookery::base {
namespace {

TEST(CameraName, TakesLabels) {
  for (const char* text : {"a", "anvil", "back-door", "cam-7", "0"}) {
    const auto name = CameraName::parse(text);
    ASSERT_TRUE(name.has_value()) << text;
    EXPECT_EQ(name.value().text(), text);
  }
  EXPECT_TRUE(CameraName::parse(std::string(63, 'x')).has_value());
}

TEST(CameraName, RefusesWhatCouldLeaveItsFolder) {
  for (const char* text :
       {"", ".", "..", "../x", "a/b", "a\\b", "a b", "Ä", "-a", "a-", "A", "a.b", "a\n", "%2e%2e"}) {
    EXPECT_FALSE(CameraName::parse(text).has_value()) << text;
  }
  EXPECT_FALSE(CameraName::parse(std::string(300, 'x')).has_value());
  EXPECT_FALSE(CameraName::parse(std::string_view("a\0b", 3)).has_value());
}

TEST(CameraName, RefusalOffersANameThatWouldDo) {
  EXPECT_NE(CameraName::parse("Back Door!").error().text().find("\"back-door\""), std::string::npos);
  EXPECT_NE(CameraName::parse(std::string(300, 'x')).error().text().find("300 characters"),
            std::string::npos);
}

}  // namespace
}  // namespace rookery::base
