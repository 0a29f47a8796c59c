// Small durable files: whole or not at all, never two, and errors that name the file.
#include "base/file.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <chrono>
#include <fstream>
#include <thread>

#include "tests/support/home_folder.h"
#include "tests/support/small_disk.h"

namespace rookery::base {
namespace {

std::size_t files_in(const std::filesystem::path& folder) {
  return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder), {}));
}

TEST(DurableFile, IsWrittenReplacedAndRead) {
  const support::HomeFolder folder;
  const auto file = folder.path() / "note";
  ASSERT_TRUE(write_durably(file, "first", 0600));
  ASSERT_TRUE(write_durably(file, std::string(10'000, 'x'), 0600));
  EXPECT_EQ(read_file(file, 10'000).value(), std::string(10'000, 'x'));
  struct stat info {};
  ASSERT_EQ(::stat(file.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777u, 0600u);
  EXPECT_EQ(files_in(folder.path()), 1u);
  EXPECT_EQ(read_file(file, 9'999).error().code, ErrorCode::too_large);
  EXPECT_EQ(read_file(folder.path() / "none", 9).error().code, ErrorCode::not_found);
}

TEST(DurableFile, FolderThatIsMissingIsNotFound) {
  const support::HomeFolder folder;
  const auto written = write_durably(folder.path() / "none" / "note", "x");
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, ErrorCode::not_found);
  EXPECT_NE(written.error().text().find("none"), std::string::npos);
}

TEST(DurableFile, OfManyWhoCreateItOneDoes) {
  const support::HomeFolder folder;
  std::atomic<int> made{0}, taken{0};
  std::vector<std::thread> threads;
  for (int i = 0; i < 6; ++i) {
    threads.emplace_back([&, i] {
      const auto created = create_durably(folder.path() / "key", std::to_string(i));
      if (created) ++made;
      if (!created && created.error().code == ErrorCode::already_exists) ++taken;
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(made, 1);
  EXPECT_EQ(taken, 5);
  EXPECT_EQ(files_in(folder.path()), 1u);
}

TEST(DurableFile, AFullDiskLeavesTheOldContent) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk(64 << 10);
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  ASSERT_TRUE(write_durably(disk.path() / "note", "old"));
  disk.fill(4096);
  const auto written = write_durably(disk.path() / "note", std::string(20'000, 'x'));
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, ErrorCode::disk_full);
  EXPECT_EQ(read_file(disk.path() / "note", 100).value(), "old");
  EXPECT_EQ(files_in(disk.path()), 2u);  // the note and what fills the disk
}

TEST(DurableFile, ManyChangeTogetherOrNotAtAll) {
  const support::HomeFolder folder;
  {
    auto one = StagedFile::write(folder.path() / "one", "1", 0600);
    auto two = StagedFile::write(folder.path() / "two", "2", 0600);
    ASSERT_TRUE(one && two);
    EXPECT_FALSE(std::filesystem::exists(folder.path() / "one"));
    ASSERT_TRUE(one->create());
  }
  EXPECT_EQ(files_in(folder.path()), 1u) << "the one that got no name is gone";
  EXPECT_EQ(read_file(folder.path() / "one", 10).value(), "1");
}

// As kill -9 leaves one: a temporary file of another process.
TEST(DurableFile, WhatAKilledProgramLeftGoesAfterAnHour) {
  const support::HomeFolder folder;
  const auto at = [&](const char* name) { return folder.path() / name; };
  for (const char* name : {".rookery-4711-0.tmp", ".rookery-4712-3.tmp", ".rookery-mine.tmp", "hall.toml"}) {
    std::ofstream(at(name)) << "key";
    std::filesystem::last_write_time(
        at(name), std::filesystem::file_time_type::clock::now() - std::chrono::minutes(61));
  }
  std::filesystem::last_write_time(at(".rookery-4712-3.tmp"),
                                   std::filesystem::file_time_type::clock::now() - std::chrono::minutes(59));
  ASSERT_TRUE(write_durably(at("note"), "x"));
  EXPECT_FALSE(std::filesystem::exists(at(".rookery-4711-0.tmp")));
  EXPECT_TRUE(std::filesystem::exists(at(".rookery-4712-3.tmp"))) << "somebody may still be writing it";
  EXPECT_TRUE(std::filesystem::exists(at(".rookery-mine.tmp"))) << "no name of ours";
  EXPECT_TRUE(std::filesystem::exists(at("hall.toml")));
}

TEST(DurableFile, ErrorsNameTheFileThatWasAskedForAndWhatHelps) {
  const support::HomeFolder folder;
  const auto lost = write_durably(folder.path() / "none" / "note", "x");
  ASSERT_FALSE(lost);
  EXPECT_NE(lost.error().detail.find("none/note: "), std::string::npos) << lost.error().text();
  EXPECT_EQ(lost.error().text().find(".rookery-"), std::string::npos) << lost.error().text();
  for (const auto& refused :
       {write_durably(folder.path(), "x").error(), read_file(folder.path(), 10).error()}) {
    EXPECT_EQ(refused.code, ErrorCode::invalid_value);
    EXPECT_EQ(refused.text().find("cable"), std::string::npos) << refused.text();
  }
  EXPECT_TRUE(write_durably(folder.path() / std::string(255, 'n'), "x")) << "as long as names may be";
  EXPECT_EQ(write_durably(folder.path() / std::string(256, 'n'), "x").error().code, ErrorCode::invalid_value);
}

TEST(MakeFolder, MakesWhatIsMissing) {
  const support::HomeFolder folder;
  const auto deep = folder.path() / "a" / "b" / "c";
  ASSERT_TRUE(make_folder(deep));
  ASSERT_TRUE(make_folder(deep));
  struct stat info {};
  ASSERT_EQ(::stat(deep.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777u, 0700u);
}

TEST(MakeFolder, AFileInTheWayIsSaid) {
  const support::HomeFolder folder;
  ASSERT_TRUE(write_durably(folder.path() / "a", ""));
  EXPECT_EQ(make_folder(folder.path() / "a").error().code, ErrorCode::invalid_value);
  EXPECT_EQ(make_folder(folder.path() / "a" / "b").error().code, ErrorCode::invalid_value);
}

}  // namespace
}  // namespace rookery::base
