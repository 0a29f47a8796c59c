// ./run: standard input and output belong to the program that it starts.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "tests/support/program.h"
#include "tests/support/temp_folder.h"

namespace rookery::test {
namespace {

namespace fs = std::filesystem;

void write_script(const fs::path& path, const std::string& text) {
  fs::create_directories(path.parent_path());
  std::ofstream(path) << text;
  fs::permissions(path, fs::perms::owner_all);
}

// `printf … | ./run person add … --password-stdin` on a fresh machine: installing and building come first,
// and what they start (package scripts, npm) would take what it is given.
TEST(RunScript, WhatIsPipedInIsThereForTheProgram) {
  const TempFolder tree;
  fs::copy_file(fs::path(SOURCE_ROOT) / "run", tree.path() / "run");
  const std::string greedy = "echo building; cat >/dev/null\n";
  write_script(tree.path() / "scripts/packages.sh",
               "build_packages=(one)\nneed_packages() { " + greedy + "}\nneed_node() { " + greedy + "}\n");
  write_script(tree.path() / "scripts/build.sh", "#!/bin/sh\n" + greedy);
  write_script(tree.path() / "build/release/src/rookery", "#!/bin/sh\necho \"$@\"; cat\n");
  const Ended ended = run_program({(tree.path() / "run").string(), "person", "add"}, "a password");
  EXPECT_EQ(ended.exit_code, 0) << ended.err;
  EXPECT_EQ(ended.out, "person add\na password");
  EXPECT_EQ(ended.err, "building\nbuilding\nbuilding\n");
}

}  // namespace
}  // namespace rookery::test
