// What stands where output is to go decides how it goes there; nothing that is no plain file is ever
// replaced.
#include "base/output_place.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <fstream>
#include <thread>

#include "base/file.h"
#include "tests/support/home_folder.h"

namespace rookery::base {
namespace {

namespace fs = std::filesystem;

class OutputPlaces : public testing::Test {
 protected:
  fs::path at(const std::string& name) const { return folder_.path() / name; }
  void put(const std::string& name, std::string_view text) const { std::ofstream(at(name)) << text; }
  std::string text_of(const std::string& name) const {
    const auto text = read_file(at(name), 1000);
    return text ? *text : text.error().text();
  }
  Result<void> write(const std::string& name, std::string_view text) const {
    const auto place = OutputPlace::find(at(name));
    return place ? place->write(text, 0644) : place.error();
  }

 private:
  support::HomeFolder folder_;
};

TEST_F(OutputPlaces, APlainFileIsMadeAndReplaced) {
  EXPECT_FALSE(OutputPlace::find(at("sheet.html"))->exists());
  ASSERT_TRUE(write("sheet.html", "old"));
  EXPECT_TRUE(OutputPlace::find(at("sheet.html"))->exists());
  ASSERT_TRUE(write("sheet.html", "new"));
  EXPECT_EQ(text_of("sheet.html"), "new");
}

TEST_F(OutputPlaces, ALinkIsFollowedAndStays) {
  put("real", "old");
  fs::create_symlink("real", at("one"));
  fs::create_symlink(at("one"), at("two"));
  ASSERT_TRUE(write("two", "new"));
  EXPECT_EQ(text_of("real"), "new");
  EXPECT_TRUE(fs::is_symlink(at("one")));
  EXPECT_TRUE(fs::is_symlink(at("two")));
  fs::create_symlink("not-yet", at("three"));
  ASSERT_TRUE(write("three", "new"));
  EXPECT_EQ(text_of("not-yet"), "new");
  EXPECT_TRUE(fs::is_symlink(at("three")));
}

TEST_F(OutputPlaces, APipeIsWrittenToAndStaysOne) {
  ASSERT_EQ(::mkfifo(at("pipe").c_str(), 0600), 0);
  std::string got;
  std::thread reader([&] { got = read_file(at("pipe"), 1000).value(); });
  EXPECT_TRUE(write("pipe", "through"));
  reader.join();
  EXPECT_EQ(got, "through");
  EXPECT_TRUE(fs::is_fifo(at("pipe")));
}

TEST_F(OutputPlaces, ADeviceIsWrittenToAndItsRefusalIsTold) {
  // Through links of our own: code that replaced what it is given would not spoil this computer.
  fs::create_symlink("/dev/null", at("null"));
  fs::create_symlink("/dev/full", at("full"));
  const auto null = OutputPlace::find(at("null"));
  ASSERT_TRUE(null);
  EXPECT_TRUE(null->in_place());
  EXPECT_TRUE(null->write("gone", 0644));
  EXPECT_TRUE(fs::is_character_file(at("null")));
  const auto full = OutputPlace::find(at("full"));
  ASSERT_TRUE(full);
  EXPECT_EQ(full->write("x", 0644).error().code, ErrorCode::disk_full);
}

TEST_F(OutputPlaces, ASocketIsLeftAlone) {
  const int made = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::string path = at("socket").string();
  path.copy(address.sun_path, sizeof address.sun_path - 1);
  ASSERT_EQ(::bind(made, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
  const auto written = write("socket", "x");
  ::close(made);
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, ErrorCode::invalid_value) << written.error().text();
  EXPECT_TRUE(fs::is_socket(at("socket")));
}

TEST_F(OutputPlaces, AFileWithoutANameIsWrittenAsItIs) {
  put("lost", "");
  const int open = ::open(at("lost").c_str(), O_RDWR | O_CLOEXEC);
  ASSERT_GE(open, 0);
  fs::remove(at("lost"));
  const auto place = OutputPlace::find("/proc/self/fd/" + std::to_string(open));
  ASSERT_TRUE(place) << place.error().text();
  EXPECT_TRUE(place->write("kept", 0644));
  char text[4] = {};
  EXPECT_EQ(::pread(open, text, 4, 0), 4);
  EXPECT_EQ(std::string_view(text, 4), "kept");
  ::close(open);
  EXPECT_TRUE(fs::is_empty(at("")));
}

TEST_F(OutputPlaces, WhatItIsMadeFromIsNotReplaced) {
  put("hall.toml", "plan");
  fs::create_symlink("hall.toml", at("link"));
  fs::create_hard_link(at("hall.toml"), at("twin"));
  const std::vector<fs::path> inputs = {at("none"), at("link")};
  for (const char* name : {"hall.toml", "link", "twin", "./hall.toml"}) {
    const auto place = OutputPlace::find(at(name), inputs);
    ASSERT_FALSE(place) << name;
    EXPECT_EQ(place.error().code, ErrorCode::invalid_value);
    EXPECT_NE(place.error().detail.find("which the output is made from"), std::string::npos)
        << place.error().text();
  }
  EXPECT_TRUE(OutputPlace::find(at("other"), inputs));
  EXPECT_TRUE(OutputPlace::find("/dev/null", std::vector<fs::path>{"/dev/null"}));
}

TEST_F(OutputPlaces, WhatNamesNoFileIsRefused) {
  fs::create_directory(at("folder"));
  fs::create_symlink("round", at("round"));
  for (const fs::path& asked :
       {fs::path(), fs::path("."), at("folder"), at("folder/"), at("new/"), at("folder/.."), at("round")}) {
    const auto place = OutputPlace::find(asked);
    ASSERT_FALSE(place) << asked;
    EXPECT_EQ(place.error().code, ErrorCode::invalid_value) << place.error().text();
    EXPECT_FALSE(place.error().remedy.empty());
  }
}

}  // namespace
}  // namespace rookery::base
