// What is held to be a command in a page, and what is complained about.
#include "tests/docs/markdown.h"

#include <gtest/gtest.h>

namespace rookery::test {
namespace {

TEST(Markdown, BlocksComeWithLanguageLineAndMark) {
  const auto blocks = read_blocks(
      "# A page\n\n<!-- given: a station -->\n```sh\nrookery camera "
      "list\n\nls\n```\n\ntext\n```\npicture\n```\n");
  ASSERT_EQ(blocks.size(), 2U);
  EXPECT_TRUE(blocks[0].is_shell());
  EXPECT_EQ(blocks[0].line, 4U);
  EXPECT_EQ(blocks[0].marked("given"), "a station");
  EXPECT_EQ(blocks[0].marked("not run"), "");
  EXPECT_EQ(blocks[0].lines, (std::vector<std::string>{"rookery camera list", "", "ls"}));
  EXPECT_FALSE(blocks[1].is_shell());
  EXPECT_EQ(blocks[1].mark, "");
}

TEST(Markdown, AMarkStandsRightAboveItsFence) {
  const auto blocks = read_blocks("<!-- not run: it would take an hour -->\n\n```sh\nls\n```\n");
  ASSERT_EQ(blocks.size(), 1U);
  EXPECT_EQ(blocks[0].mark, "");
}

TEST(Markdown, CommandsThatCannotBeRunAreComplainedAbout) {
  EXPECT_EQ(find_unrunnable("    rookery archive check\n").size(), 1U);
  EXPECT_EQ(find_unrunnable("```\ncd page\nnpm ci\n```\n").size(), 1U);
  EXPECT_EQ(find_unrunnable("```text\n./run serve\n```\n").size(), 1U);
  EXPECT_EQ(find_unrunnable("<!-- not run: later -->\n```sh\nls\n```\n").size(), 1U);
  EXPECT_EQ(find_unrunnable("<!-- skipped -->\n```sh\nls\n```\n").size(), 1U);
  EXPECT_EQ(find_unrunnable("```sh\ncurl http://127.0.0.1/\n```\n").size(), 1U);
}

TEST(Markdown, WhatIsNoCommandIsLeftAlone) {
  EXPECT_TRUE(find_unrunnable("    received = published + rejected\n").empty());
  EXPECT_TRUE(find_unrunnable("```\nboard ──HTTP──> pull\n```\n").empty());
  EXPECT_TRUE(find_unrunnable("```sh\nrookery camera list\n```\n").empty());
  EXPECT_TRUE(find_unrunnable("<!-- not run: it would take an hour -->\n```sh\nls\n```\n").empty());
}

}  // namespace
}  // namespace rookery::test
