// What `find` asks a board, by the profiles.
#include "camera/board_places.h"

#include <gtest/gtest.h>

#include <fstream>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "tests/support/temp_folder.h"

namespace rookery::camera {
namespace {

// "80 /still", "81 /stream *": a star for a stream.
std::vector<std::string> told(const std::vector<AskedPlace>& places) {
  std::vector<std::string> out;
  for (const AskedPlace& one : places)
    out.push_back(fmt::format("{} {}{}", one.port, one.path, one.stream ? " *" : ""));
  return out;
}
Profile own(const std::string& text) { return parse_profile(text, "own", "own.toml").value(); }

using Told = std::vector<std::string>;

TEST(BoardPlaces, ShippedProfilesAskForUsualStillsThenForUsualStreams) {
  EXPECT_EQ(told(places_to_ask(read_profiles({}, {}), 80, "")),
            (Told{"80 /still", "80 /capture", "80 /jpg", "80 /still.jpg", "80 /image.jpg", "81 /stream *",
                  "80 /stream *", "81 /mjpeg *", "81 / *", "80 /mjpeg *", "80 / *"}));
}

TEST(BoardPlaces, AProfileOfOnesOwnGoesFirst) {
  std::vector<Profile> profiles{own("[stream]\nport = 9000\npath = \"/eye\"\n[still]\npath = \"/picture\"")};
  for (Profile& one : read_profiles({}, {})) profiles.push_back(std::move(one));
  const Told all = told(places_to_ask(profiles, 80, ""));
  EXPECT_EQ(all.front(), "80 /picture");
  EXPECT_EQ(*std::ranges::find_if(all, [](const auto& one) { return one.ends_with("*"); }), "9000 /eye *");
}

TEST(BoardPlaces, ABoardAtAnotherPortHasAllItsPortsMovedAlong) {
  const std::vector<Profile> profiles = read_profiles({}, {});
  const Told all = told(places_to_ask(profiles, 8080, ""));
  EXPECT_EQ(all.front(), "8080 /still");
  EXPECT_NE(std::ranges::find(all, "8081 /stream *"), all.end());
  EXPECT_NE(std::ranges::find(all, "8080 /stream *"), all.end());
  EXPECT_TRUE(
      std::ranges::none_of(all, [](const auto& one) { return one.starts_with("8") && one[1] != '0'; }));
  // There is no port after the last: nothing is asked there.
  EXPECT_EQ(told(places_to_ask(std::span(profiles).first(1), 65535, "")),
            (Told{"65535 /still", "65535 /capture", "65535 /jpg", "65535 /still.jpg", "65535 /image.jpg"}));
}

TEST(BoardPlaces, AnAnnouncedStreamPortIsNotTakenForTheStillsPort) {
  const std::vector<Profile> profiles = read_profiles({}, {});
  const Told all = told(places_to_ask(std::span(profiles).first(1), 81, ""));
  EXPECT_EQ(all.front(), "80 /still");
  EXPECT_NE(std::ranges::find(all, "81 /stream *"), all.end());
}

TEST(BoardPlaces, TheAnnouncedPathIsAskedFirstAndOnce) {
  const Told all = told(places_to_ask(read_profiles({}, {}), 80, "/capture"));
  EXPECT_EQ(all[0], "80 /capture");
  EXPECT_EQ(all[1], "80 /still");
  EXPECT_EQ(std::ranges::count(all, "80 /capture"), 1);
  for (const std::string& no_path : {std::string("capture"), "/" + std::string(300, 'a')})
    EXPECT_EQ(told(places_to_ask(read_profiles({}, {}), 80, no_path)).front(), "80 /still");
}

TEST(BoardPlaces, TheSweepKnocksWhereProfilesHaveTheirStills) {
  EXPECT_EQ(ports_to_knock(read_profiles({}, {})), (std::vector<std::uint16_t>{80, 8080}));
  const std::vector<Profile> profiles{
      own("[stream]\nport = 9000\npath = \"/eye\"\n[find]\nports = [9100, 9000]")};
  EXPECT_EQ(ports_to_knock(profiles), (std::vector<std::uint16_t>{9000, 9100}));
}

TEST(BoardPlaces, OwnProfilesAreReadAndABrokenOneIsToldAndLeftOut) {
  rookery::test::TempFolder home;
  std::filesystem::create_directories(home.path() / "profiles");
  std::ofstream(home.path() / "profiles" / "bench.toml") << "[still]\npath = \"/picture\"\n";
  std::ofstream(home.path() / "profiles" / "broken.toml") << "[find]\nports = [0]\n[still]\npath = \"/x\"\n";
  Told bad, names;
  for (const Profile& one :
       read_profiles(home.path(), [&bad](const base::Error& e) { bad.push_back(e.text()); }))
    names.push_back(one.name);
  EXPECT_EQ(names, (Told{"bench", "two-ports", "one-port", "stills-only"}));
  ASSERT_EQ(bad.size(), 1u);
  EXPECT_NE(bad[0].find("broken.toml line 2: find.ports is no list of ports"), std::string::npos) << bad[0];
}

}  // namespace
}  // namespace rookery::camera
