// The commands in README.md, HACKING.md and docs/ are run as they stand there.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "tests/docs/shell_session.h"
#include "tests/support/needs.h"

namespace rookery::test {
namespace {

namespace fs = std::filesystem;

std::string read_file(const fs::path& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

// Every page, relative to the project's folder.
std::vector<std::string> pages() {
  std::vector<std::string> found{"README.md", "HACKING.md"};
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(SOURCE_ROOT) / "docs")) {
    if (entry.path().extension() == ".md")
      found.push_back(entry.path().lexically_relative(SOURCE_ROOT).string());
  }
  std::sort(found.begin(), found.end());
  return found;
}

// Those with a command to run.
std::vector<std::string> pages_with_commands() {
  std::vector<std::string> found;
  for (const std::string& page : pages()) {
    const auto blocks = read_blocks(read_file(fs::path(SOURCE_ROOT) / page));
    if (std::any_of(blocks.begin(), blocks.end(),
                    [](const Block& block) { return block.is_shell() && block.marked("not run").empty(); }))
      found.push_back(page);
  }
  return found;
}

TEST(Docs, EveryCommandIsRunOrSaysWhyNot) {
  EXPECT_GT(pages().size(), 10U);
  for (const std::string& page : pages()) {
    for (const std::string& complaint : find_unrunnable(read_file(fs::path(SOURCE_ROOT) / page)))
      ADD_FAILURE() << page << ", " << complaint;
  }
}

TEST(Docs, ThePagesForUsersHaveCommandsThatAreRun) {
  const auto found = pages_with_commands();
  for (const char* page : {"README.md", "docs/api.md", "docs/board-connection.md", "docs/demo.md",
                           "docs/prove.md", "docs/recordings.md", "docs/replay.md", "docs/sign-in.md"}) {
    EXPECT_NE(std::find(found.begin(), found.end(), page), found.end()) << page;
  }
}

class PageTest : public testing::TestWithParam<std::string> {};

TEST_P(PageTest, CommandsDoWhatTheySay) {
  ROOKERY_NEEDS_PROGRAM("curl", "curl");
  ShellSession session;
  for (const Block& block : read_blocks(read_file(fs::path(SOURCE_ROOT) / GetParam()))) {
    if (!block.is_shell() || !block.marked("not run").empty()) continue;
    SCOPED_TRACE(GetParam() + ", line " + std::to_string(block.line));
    if (!block.mark.empty()) session.provide(block.marked("given"));
    if (HasFailure()) return;
    session.run(block);
    if (HasFailure()) return;
  }
  session.end();
}

INSTANTIATE_TEST_SUITE_P(, PageTest, testing::ValuesIn(pages_with_commands()), [](const auto& chosen) {
  std::string name = chosen.param;
  std::replace_if(
      name.begin(), name.end(), [](unsigned char c) { return std::isalnum(c) == 0; }, '_');
  return name;
});

}  // namespace
}  // namespace rookery::test
