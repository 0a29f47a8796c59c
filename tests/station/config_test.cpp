// rookery.toml: what it takes, and what it says about a slip of the pen.
#include "station/config.h"

#include <gtest/gtest.h>

namespace rookery::station {
namespace {

TEST(Config, DefaultsListenOnLoopback) {
  const auto config = parse_config("", "rookery.toml");
  ASSERT_TRUE(config.has_value());
  EXPECT_EQ(config->listen, "127.0.0.1:7420");
  EXPECT_EQ(config->segment_minutes, 10);
  EXPECT_EQ(config->jobs_each, 2000);
  EXPECT_FALSE(config->films_gib.has_value());
}

TEST(Config, TakesEverySetting) {
  const auto config = parse_config(
      "listen = \"[::1]:80\"\nhost_names = [\"hall.home.arpa\"]\nkeep_free_gib = 2\nsegment_minutes = 5\n"
      "pre_roll_mib = 64\nfilms_gib = 2.5\njobs_each = 300\n",
      "rookery.toml");
  ASSERT_TRUE(config.has_value()) << config.error().text();
  EXPECT_EQ(config->listen, "[::1]:80");
  EXPECT_EQ(config->host_names, std::vector<std::string>{"hall.home.arpa"});
  EXPECT_DOUBLE_EQ(config->keep_free_gib, 2.0);
  EXPECT_EQ(config->segment_minutes, 5);
  EXPECT_EQ(config->pre_roll_mib, 64);
  EXPECT_EQ(config->films_gib, 2.5);
  EXPECT_EQ(config->jobs_each, 300);
  EXPECT_TRUE(parse_config("host_names = []", "rookery.toml").has_value());
}

TEST(Config, SaysWhichLineIsWrong) {
  const auto unknown = parse_config("\nlisten_on = \"x\"\n", "rookery.toml");
  ASSERT_FALSE(unknown.has_value());
  EXPECT_EQ(unknown.error().where, "rookery.toml line 2");
  EXPECT_NE(unknown.error().text().find("listen_on"), std::string::npos);
  EXPECT_EQ(parse_config("listen = ", "rookery.toml").error().code, base::ErrorCode::malformed);
  for (const char* text : {"listen = 7", "segment_minutes = 0", "segment_minutes = 61", "keep_free_gib = -1",
                           "keep_free_gib = nan", "exports_gib = 0", "films_gib = 0", "jobs_each = 0",
                           "jobs_each = 1.5", "pre_roll_mib = 0", "pre_roll_mib = 2.5", "trusted_proxies = 1",
                           "host_names = [1]", "host_names = \"x\""}) {
    const auto config = parse_config(text, "rookery.toml");
    ASSERT_FALSE(config.has_value()) << text;
    EXPECT_EQ(config.error().code, base::ErrorCode::invalid_value) << text;
  }
}

// A parser would take them down by recursion, and end the program with them.
TEST(Config, WhatNestsTooDeepIsToldWithItsLine) {
  std::string text = "\n";
  for (int i = 0; i < 40'000; ++i) text += "a.";
  text += "a = 1\n";
  const auto deep = parse_config(text, "rookery.toml");
  ASSERT_FALSE(deep);
  EXPECT_EQ(deep.error().code, base::ErrorCode::malformed);
  EXPECT_EQ(deep.error().where, "rookery.toml line 2");
}

}  // namespace
}  // namespace rookery::station
