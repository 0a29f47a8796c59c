// A file that appears only when it is whole, and what others that never became whole left beside it.
#include "archive/whole_file.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <unistd.h>

#include <fstream>

#include "tests/support/temp_folder.h"

namespace rookery::archive {
namespace {

class WholeFileTest : public ::testing::Test {
 protected:
  // As a process leaves it that was killed `ago`.
  std::filesystem::path leave(const std::string& name, std::chrono::minutes ago) const {
    auto path = folder.path() / name;
    std::ofstream(path) << "half of it";
    std::filesystem::last_write_time(path, std::filesystem::file_time_type::clock::now() - ago);
    return path;
  }
  test::TempFolder folder;
  std::filesystem::path file = folder.path() / "film.mp4";
};

TEST_F(WholeFileTest, WhatAKillLeftBehindGoesWithTheNextOne) {
  const auto old = leave(".film.mp4.0123abcd.part", std::chrono::hours(1));
  WholeFile whole(file, Existing::refuse, "test");
  ASSERT_TRUE(whole.make());
  EXPECT_FALSE(std::filesystem::exists(old));
  EXPECT_TRUE(std::filesystem::exists(whole.path()));
  ASSERT_TRUE(whole.appear());
  EXPECT_TRUE(std::filesystem::exists(file));
}

TEST_F(WholeFileTest, WhatIsNotSurelyLeftBehindStays) {
  const auto other = leave(".other.mp4.0123abcd.part", std::chrono::hours(1));
  const auto own = leave(".film.mp4.notes.part", std::chrono::hours(1));
  const auto written = leave(".film.mp4.00000001.part", std::chrono::minutes(1));
  const auto locked = leave(".film.mp4.00000002.part", std::chrono::hours(1));
  const int lock = ::open(locked.c_str(), O_WRONLY | O_CLOEXEC);
  ASSERT_EQ(::flock(lock, LOCK_EX | LOCK_NB), 0);
  WholeFile whole(file, Existing::refuse, "test");
  ASSERT_TRUE(whole.make());
  for (const auto& each : {other, own, written, locked}) EXPECT_TRUE(std::filesystem::exists(each)) << each;
  ::close(lock);
}

TEST_F(WholeFileTest, OneThatIsUnderWayKeepsItsFileFromAnother) {
  WholeFile slow(file, Existing::replace, "test");
  ASSERT_TRUE(slow.make());
  std::filesystem::last_write_time(slow.path(),
                                   std::filesystem::file_time_type::clock::now() - std::chrono::hours(1));
  WholeFile other(file, Existing::replace, "test");
  ASSERT_TRUE(other.make());
  EXPECT_TRUE(std::filesystem::exists(slow.path()));
}

}  // namespace
}  // namespace rookery::archive
