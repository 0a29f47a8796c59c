#include "plan/plan_file.h"

#include <gtest/gtest.h>

namespace rookery::plan {
namespace {

constexpr std::string_view kHall = R"(
station = "http://192.0.2.10:7420/"
[every.wire]
size = "0.5 mm2"
current = 0.4
[every.settings]
network = "hall"
[[camera]]
name = "anvil"
[camera.wire]
length = "1,5 m"
current = "0.5 A"
[camera.settings]
key = "a \"quoted\" key"
led_pin = 4
[[camera]]
name = "bobbin"
)";

std::string text_of(const std::vector<Given>& sum, std::string_view key) {
  for (const Given& one : sum) {
    if (one.key == key) return one.text;
  }
  return "(not given)";
}

TEST(PlanFile, ACamerasOwnValueGoesBeforeTheSharedOne) {
  const auto plan = read_plan_file(kHall, "hall.toml");
  ASSERT_TRUE(plan) << plan.error().text();
  ASSERT_EQ(plan->cameras.size(), 2U);
  const CameraPlan& anvil = plan->cameras[0];
  EXPECT_EQ(anvil.name.text(), "anvil");
  EXPECT_EQ(anvil.page, "http://192.0.2.10:7420/#/camera/anvil");
  EXPECT_EQ(text_of(anvil.sums.at("wire"), "current"), "0.5 A");
  EXPECT_EQ(text_of(anvil.sums.at("wire"), "size"), "0.5 mm2");
  EXPECT_EQ(anvil.settings.at("network"), "hall");
  EXPECT_EQ(anvil.settings.at("key"), "a \"quoted\" key");
  EXPECT_EQ(anvil.settings.at("led_pin"), "4");
  EXPECT_EQ(text_of(plan->cameras[1].sums.at("wire"), "current"), "0.4");
  EXPECT_EQ(plan->cameras[1].settings.count("key"), 0U);
}

TEST(PlanFile, FindsACameraOrNamesThoseThereAre) {
  const auto plan = read_plan_file(kHall, "hall.toml");
  ASSERT_TRUE(plan);
  ASSERT_TRUE(plan->find("bobbin"));
  const auto none = plan->find("cog");
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().remedy, "it holds: anvil, bobbin");
}

TEST(PlanFile, EveryMistakeHasItsLineAndColumn) {
  std::vector<base::Error> all;
  EXPECT_FALSE(
      read_plan_file("colour = 1\n[[camera]]\nname = \"anvil\"\n[camera.wire]\nlenght = \"2 m\"\n"
                     "[camera.anchor]\nx = 1\n[[camera]]\n[[camera]]\nname = \"anvil\"\n",
                     "hall.toml", &all));
  std::string text;
  for (const base::Error& error : all) text += error.text() + "\n";
  ASSERT_EQ(all.size(), 5U) << text;
  EXPECT_NE(text.find("hall.toml line 1, column "), std::string::npos) << text;
  EXPECT_NE(text.find("hall.toml line 5, column "), std::string::npos) << text;
  EXPECT_NE(text.find("wire has no value lenght"), std::string::npos) << text;
  EXPECT_NE(text.find("there is no \"anchor\" here"), std::string::npos) << text;
  EXPECT_NE(text.find("a camera has no name"), std::string::npos) << text;
  EXPECT_NE(text.find("stands there twice"), std::string::npos) << text;
}

TEST(PlanFile, AKeyWithoutQuotesIsNotShown) {
  for (const char* key :
       {"12345678901234567890123", "0x1234567890abcdef1234", "12345678901234567890.5e400", "loudsecret"}) {
    const auto plan = read_plan_file(
        std::string("[[camera]]\nname = \"anvil\"\n[camera.settings]\nkey = ") + key + "\n", "hall.toml");
    ASSERT_FALSE(plan) << key;
    EXPECT_EQ(plan.error().text().find(std::string(key).substr(2, 8)), std::string::npos)
        << plan.error().text();
  }
}

TEST(PlanFile, WhatIsNoPlanIsRefused) {
  for (const char* text :
       {"", "camera = 1", "[camera]\nname = \"anvil\"", "[[camera]]\nname = \"../anvil\"",
        "[[camera]]\nname = 3", "[[camera]]\nname = \"anvil\"\nwire = 2",
        "[[camera]]\nname = \"anvil\"\n[camera.wire]\nlength = [1, 2]",
        "station = \"ftp://x\"\n[[camera]]\nname = \"anvil\"",
        "station = \"http://a b\"\n[[camera]]\nname = \"anvil\"", "[[camera", "\xff\xfe"}) {
    const auto plan = read_plan_file(text, "hall.toml");
    ASSERT_FALSE(plan) << text;
    EXPECT_NE(plan.error().where.find("line"), std::string::npos) << plan.error().text();
    EXPECT_FALSE(plan.error().remedy.empty()) << plan.error().text();
  }
}

}  // namespace
}  // namespace rookery::plan
