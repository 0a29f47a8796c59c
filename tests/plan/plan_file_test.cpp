#include "plan/plan_file.h"

#include <gtest/gtest.h>

#include "base/printable.h"

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
  EXPECT_EQ(anvil.settings.at("network").text, "hall");
  EXPECT_EQ(anvil.settings.at("key").text, "a \"quoted\" key");
  EXPECT_EQ(anvil.settings.at("led_pin").text, "4");
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

constexpr std::string_view kAnvil = "[[camera]]\nname = \"anvil\"\n";

Setting setting(std::string_view written) {
  const auto plan = read_plan_file(
      std::string(kAnvil) + "settings = { \"f\u00fcr\" = \"\u00e9\", x = " + std::string(written) + " }\n",
      "hall.toml");
  EXPECT_TRUE(plan) << written << ": " << plan.error().text();
  return plan ? plan->cameras[0].settings.at("x") : Setting("");
}

TEST(PlanFile, SettingsAreTakenAsTheyAreWritten) {
  for (const char* written :
       {"4", "0x10", "0o17", "0b101", "1e3", "1_000", "1.50", "0.1", "+5", "-0.0", "inf", "-nan", "1E-3"}) {
    EXPECT_EQ(setting(written).text, written);
    EXPECT_FALSE(setting(written).flag);
  }
  for (const char* text : {"no", "false", "", "007", "yes"}) {
    EXPECT_EQ(setting("\"" + std::string(text) + "\"").text, text);
    EXPECT_FALSE(setting("\"" + std::string(text) + "\"").flag);
  }
  EXPECT_EQ(setting("true").flag, true);
  EXPECT_EQ(setting("false").flag, false);
  EXPECT_EQ(setting("false").text, "false");
  for (const char* written : {"2026-03-01", "[1]", "{a = 1}"}) {
    const auto plan =
        read_plan_file(std::string(kAnvil) + "[camera.settings]\nx = " + written + "\n", "hall.toml");
    ASSERT_FALSE(plan) << written;
    EXPECT_NE(plan.error().remedy.find("write it in quotes"), std::string::npos) << plan.error().text();
  }
}

TEST(PlanFile, WhatNestsTooDeepIsToldWithItsLine) {
  std::string dots;
  for (int i = 0; i < 40'000; ++i) dots += "a.";
  for (const std::string& text :
       {"\n[" + dots + "a]\n", "\n" + dots + "a = 1\n", "\nx = " + std::string(40'000, '[')}) {
    std::vector<base::Error> all;
    EXPECT_FALSE(read_plan_file(text, "hall.toml", &all));
    ASSERT_EQ(all.size(), 1U);
    EXPECT_EQ(all[0].where, "hall.toml line 2");
    EXPECT_NE(all[0].detail.find("deeper than 16"), std::string::npos) << all[0].text();
  }
}

TEST(PlanFile, AStationHasAHost) {
  for (const char* right : {"http://192.0.2.10:7420", "https://hall.local/rookery/", "http://hall",
                            "http://[2001:db8::7]:7420", "http://k\u00fcche.local"}) {
    EXPECT_TRUE(
        read_plan_file("station = \"" + std::string(right) + "\"\n" + std::string(kAnvil), "hall.toml"))
        << right;
  }
  for (const char* wrong : {"http://", "https:///x", "http://:7420", "http://a\\u0000b",
                            "http://a\\u001b[31m", "http://a\\u009b", "http://hall:", "http://hall:0",
                            "http://hall:65536", "http://hall:port", "http://[::1", "http://-hall", "7420"}) {
    const auto plan =
        read_plan_file("station = \"" + std::string(wrong) + "\"\n" + std::string(kAnvil), "hall.toml");
    ASSERT_FALSE(plan) << wrong;
    EXPECT_NE(plan.error().detail.find("station is no plain address"), std::string::npos);
  }
}

TEST(PlanFile, ABoardsAddressFitsItsLabel) {
  const auto read = [](const std::string& address) {
    return read_plan_file(std::string(kAnvil) + "[camera.settings]\naddress = \"" + address + "\"\n",
                          "hall.toml");
  };
  EXPECT_TRUE(read(std::string(80, 'a')));
  EXPECT_FALSE(read(std::string(81, 'a')));
  EXPECT_FALSE(read("a\\u001b[31m"));
}

TEST(PlanFile, NamesFromTheFileAreShownSoThatNoTerminalObeysThem) {
  std::vector<base::Error> all;
  EXPECT_FALSE(read_plan_file("\"x\\u001b[2J\" = 1\n" + std::string(kAnvil) +
                                  "[camera.\"wi\\u001b[31mre\"]\n[camera.wire]\n\"" + std::string(5000, 'l') +
                                  "\" = 1\n[camera.settings]\n\"\\u009b\" = []\n",
                              "hall.toml", &all));
  ASSERT_EQ(all.size(), 4U);
  for (const base::Error& error : all) {
    EXPECT_TRUE(base::is_printable(error.text())) << error.text();
    EXPECT_LT(error.text().size(), 300U);
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
