// The computer's own disk, as the recorder and the export use it.
#include "archive/disk.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "tests/support/temp_folder.h"

namespace rookery::archive {
namespace {

class InFolder {
 public:
  explicit InFolder(const std::filesystem::path& folder) { std::filesystem::current_path(folder); }
  ~InFolder() { std::filesystem::current_path(before_); }
  InFolder(const InFolder&) = delete;
  InFolder& operator=(const InFolder&) = delete;

 private:
  std::filesystem::path before_ = std::filesystem::current_path();
};

TEST(RealDisk, ABareNameIsAFileInTheCurrentFolder) {
  const test::TempFolder folder;
  const InFolder here(folder.path());
  const auto made = real_disk().create("clip.mkv");
  ASSERT_TRUE(made.has_value()) << made.error().text();
  EXPECT_TRUE(std::filesystem::exists(folder.path() / "clip.mkv"));
}

TEST(RealDisk, FoldersOnTheWayAreMadeAndAFileThatIsThereIsLeftAlone) {
  const test::TempFolder folder;
  const auto file = folder.path() / "anvil" / "2026-03-01" / "a.mkv";
  EXPECT_TRUE(real_disk().create(file).has_value());
  EXPECT_FALSE(real_disk().create(file).has_value());
}

}  // namespace
}  // namespace rookery::archive
