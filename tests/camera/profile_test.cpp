#include "camera/profile.h"

#include <gtest/gtest.h>

#include <fstream>

#include "tests/support/temp_folder.h"

namespace rookery::camera {
namespace {

net::Address host() { return net::Address::parse("http://192.0.2.17").value(); }

TEST(Profile, ThreeAreShippedAndRead) {
  for (const std::string& name : shipped_profiles()) {
    const auto profile = parse_profile(shipped_profile_text(name), name, name + ".toml");
    ASSERT_TRUE(profile) << profile.error().text();
    EXPECT_EQ(profile->name, name);
    EXPECT_FALSE(profile->title.empty());
    ASSERT_TRUE(profile->still);
  }
  const auto two = *parse_profile(shipped_profile_text("two-ports"), "two-ports", "");
  EXPECT_EQ(two.stream_at(host())->shown(), "http://192.0.2.17:81/stream");
  EXPECT_EQ(two.still_at(host())->shown(), "http://192.0.2.17/still");
  EXPECT_EQ(two.control_at(host(), "lamp", 255)->target, "/control?key=lamp&value=255");
  EXPECT_TRUE(two.still->while_streaming);
  const auto one = *parse_profile(shipped_profile_text("one-port"), "one-port", "");
  EXPECT_EQ(one.stream->port, 80);
  EXPECT_FALSE(one.still->while_streaming);
  EXPECT_FALSE(one.control->while_streaming);
  const auto stills = *parse_profile(shipped_profile_text("stills-only"), "stills-only", "");
  EXPECT_FALSE(stills.stream);
  EXPECT_EQ(stills.stream_at(host()).error().code, base::ErrorCode::unsupported);
  EXPECT_EQ(stills.control_at(host(), "lamp", 1).error().code, base::ErrorCode::unsupported);
}

// REFERENCE values: 1200 rows of 53.42 µs are 64.1 ms.
TEST(Profile, ReadoutIsRowTimeTimesHeight) {
  const auto two = *parse_profile(shipped_profile_text("two-ports"), "two-ports", "");
  EXPECT_NEAR(two.readout_of(1200)->count(), 0.0641, 1e-4);
  EXPECT_NEAR(two.readout_of(600)->count(), 0.02976, 1e-5);
  EXPECT_FALSE(two.readout_of(480));
}

TEST(Profile, AValueOutsideItsRangeIsRefused) {
  const auto two = *parse_profile(shipped_profile_text("two-ports"), "two-ports", "");
  const auto refused = two.control_at(host(), "lamp", 256);
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().detail.find("0 to 255"), std::string::npos);
  EXPECT_TRUE(two.control_at(host(), "quality", 9999));  // no range is known for it
}

struct Slip {
  const char* text;
  const char* line;
  const char* says;
};
constexpr Slip kSlips[] = {
    {"title = 5\n[still]\npath = \"/s\"", "line 1", "title is no text"},
    {"[still]\npath = \"/s\"\nport = 0", "line 3", "still.port is no whole number from 1 to 65535"},
    {"[still]\npath = \"/s\"\nport = \"80\"", "line 3", "still.port"},
    {"[still]\npath = \"s\"", "line 2", "still.path \"s\" is no path"},
    {"[still]\nport = 80", "line 1", "still.path is missing"},
    {"[still]\npath = \"/s\"\nprot = 80", "line 3", "still.prot is no setting here"},
    {"[still]\npath = \"/s\"\nwhile_streaming = 1", "line 3", "neither true nor false"},
    {"[strem]\npath = \"/s\"\n[still]\npath = \"/s\"", "line 1", "strem is no setting here"},
    {"still = \"/s\"", "line 1", "still is no table"},
    {"title = \"nothing\"", "line 1", "stream and still are both missing"},
    {"[still]\npath = \"/s\"\n[control]\npath = \"/c?k={key}\"", "line 3", "without {key} or {value}"},
    {"[still]\npath = \"/s\"\n[lamp]\nkey = \"lamp\"", "line 3", "needs [control]"},
    {"[still]\npath = \"/s\"\n[control]\npath = \"/c?{key}={value}\"\n[lamp]\non = 1", "line 5",
     "lamp.key is missing"},
    {"[still]\npath = \"/s\"\n[control]\npath = \"/c?{key}={value}\"\n[lamp]\nkey = \"l\"\n[values.l]\nleast "
     "= 0\nmost "
     "= 100",
     "line 5", "outside 0 to 100"},
    {"[still]\npath = \"/s\"\n[values.q]\nleast = 5\nmost = 1", "line 3", "values.q.most is below least"},
    {"[still]\npath = \"/s\"\n[values]\nq = 5", "line 4", "values.q is no table"},
    {"[still]\npath = \"/s\"\n[picture]\nrotation = 45", "line 4", "none of 0, 90, 180, 270"},
    {"[still]\npath = \"/s\"\n[[readout]]\nheight_px = 600", "line 3", "readout.row_time_us is missing"},
    {"[still]\npath = \"/s\"\n[readout]\nheight_px = 600", "line 3", "no list of tables"},
    {"[still]\npath = \"/s\"\n[find]\nstill_paths = [\"no\"]", "line 4",
     "find.still_paths is no list of paths"},
    {"[still]\npath = \"/s\"\n[find]\nports = 80", "line 4", "find.ports is no list of ports"},
    {"[still]\npath = \"/s\"\n[find]\nport = [80]", "line 4", "find.port is no setting here"},
    {"[still]\npath = \"/s\"\n[sizes]\nkey = \"size\"\nsteps = [5]", "line 3", "sizes needs [control]"},
    {"[still]\npath = \"/s\"\n[sizes]\nkey = \"size\"\nsteps = [1, 2, 3, 4]", "line 5",
     "sizes.steps is no list of one to three whole numbers"},
    {"[still]\npath = \"/s\"\n[sizes]\nkey = \"size\"", "line 3", "sizes.steps is missing"},
    {"[still\npath = \"/s\"", "line 1", ""},
};

TEST(Profile, EverySlipIsToldWithLineAndKey) {
  for (const Slip& slip : kSlips) {
    const auto profile = parse_profile(slip.text, "own", "own.toml");
    ASSERT_FALSE(profile) << slip.text;
    EXPECT_NE(profile.error().text().find(slip.line), std::string::npos) << profile.error().text();
    EXPECT_NE(profile.error().text().find(slip.says), std::string::npos) << profile.error().text();
    EXPECT_NE(profile.error().text().find("own.toml"), std::string::npos) << profile.error().text();
  }
}

TEST(Profile, OwnOnesStandInTheHomeAndGoBeforeShippedOnes) {
  const test::TempFolder home;
  EXPECT_EQ(list_profiles(home.path()), shipped_profiles());
  std::filesystem::create_directory(home.path() / "profiles");
  std::ofstream(home.path() / "profiles" / "mine.toml") << "[still]\npath = \"/one\"\nport = 8080\n";
  std::ofstream(home.path() / "profiles" / "one-port.toml") << "[still]\npath = \"/two\"\n";
  std::ofstream(home.path() / "profiles" / "note.txt") << "x";
  EXPECT_EQ(list_profiles(home.path()),
            (std::vector<std::string>{"mine", "one-port", "two-ports", "stills-only"}));
  EXPECT_EQ(find_profile(home.path(), "mine")->still_at(host())->shown(), "http://192.0.2.17:8080/one");
  EXPECT_EQ(find_profile(home.path(), "one-port")->still->path, "/two");
  const auto none = find_profile(home.path(), "../mine");
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, base::ErrorCode::not_found);
  EXPECT_NE(none.error().remedy.find("stills-only"), std::string::npos) << none.error().text();
}

// A parser would take them down by recursion, and end the program with them.
TEST(Profile, WhatNestsTooDeepIsToldWithItsLine) {
  std::string text = "\n";
  for (int i = 0; i < 40'000; ++i) text += "a.";
  text += "a = 1\n";
  const auto deep = parse_profile(text, "mine", "rookery.toml");
  ASSERT_FALSE(deep);
  EXPECT_EQ(deep.error().code, base::ErrorCode::malformed);
  EXPECT_EQ(deep.error().where, "rookery.toml line 2");
}

}  // namespace
}  // namespace rookery::camera
