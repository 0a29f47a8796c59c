#include <gtest/gtest.h>
#include <rapidcheck.h>

#include "proto/boot_lines.h"

namespace rookery::proto {
namespace {

std::vector<BootLine> split(std::string_view bytes, std::size_t piece = 1) {
  std::vector<BootLine> out;
  BootLines lines([&out](const BootLine& line) { out.push_back(line); });
  for (std::size_t at = 0; at < bytes.size(); at += piece) lines.push(bytes.substr(at, piece));
  lines.finish();
  return out;
}

std::vector<std::string> texts(std::string_view bytes) {
  std::vector<std::string> out;
  for (const BootLine& line : split(bytes)) out.push_back(line.text);
  return out;
}

TEST(BootLines, AnyOfTheUsualLineEndsEndsOne) {
  const std::vector<std::string> expected = {"a", "b", "c", "d", "e"};
  EXPECT_EQ(texts("a\nb\rc\r\nd\r\r\ne"), expected);
}

TEST(BootLines, EmptyLinesCountSoThatNumbersAreThoseOfAnEditor) {
  const auto lines = split("a\r\n\r\nb\n\nc\n");
  ASSERT_EQ(lines.size(), 5U);
  EXPECT_EQ(lines[2].text, "b");
  EXPECT_EQ(lines[2].number, 3U);
  EXPECT_EQ(lines[4].number, 5U);
}

TEST(BootLines, ColoursAndOtherControlSequencesAreTakenOut) {
  EXPECT_EQ(texts("\x1b[0;31mE (12) cam_hal: NO-EOI\x1b[0m\r\n"),
            std::vector<std::string>{"E (12) cam_hal: NO-EOI"});
  EXPECT_EQ(texts("a\x1b"
                  "cb\x1b[2Kc\x1b[?25hd\n"),
            std::vector<std::string>{"abcd"});
  EXPECT_EQ(texts("a\x1b[12\nb\n"), (std::vector<std::string>{"a", "b"})) << "a line's end ends a sequence";
  EXPECT_EQ(texts("\x1b\x1b[1mx\n"), std::vector<std::string>{"x"});
}

TEST(BootLines, ALongLineIsCutAndTheNextOneIsWhole) {
  const auto lines = split(std::string(5000, 'x') + "\nafter\n", 700);
  ASSERT_EQ(lines.size(), 2U);
  EXPECT_EQ(lines[0].text.size(), kMaxBootLineBytes);
  EXPECT_TRUE(lines[0].cut);
  EXPECT_EQ(lines[1].text, "after");
  EXPECT_FALSE(lines[1].cut);
  EXPECT_FALSE(split(std::string(kMaxBootLineBytes, 'x') + "\n")[0].cut);
}

TEST(BootLines, WhatStandsWithoutAnEndComesAtTheEndAndSaysSo) {
  const auto lines = split("whole\nha");
  ASSERT_EQ(lines.size(), 2U);
  EXPECT_TRUE(lines[0].ended);
  EXPECT_EQ(lines[1].text, "ha");
  EXPECT_FALSE(lines[1].ended);
  EXPECT_TRUE(split("").empty());
}

TEST(BootLines, ALineHasTheTimeOfItsFirstByte) {
  using std::chrono::milliseconds;
  std::vector<BootLine> out;
  BootLines lines([&out](const BootLine& line) { out.push_back(line); });
  lines.push("one\r", milliseconds(10));
  lines.push("\ntw", milliseconds(20));
  lines.push("o\n", milliseconds(30));
  ASSERT_EQ(out.size(), 2U);
  EXPECT_EQ(out[0].at, milliseconds(10));
  EXPECT_EQ(out[1].at, milliseconds(20));
}

TEST(BootLines, WhatWasBegunCanBeDroppedAndIsNotCounted) {
  std::vector<BootLine> out;
  BootLines lines([&out](const BootLine& line) { out.push_back(line); });
  lines.push("begun\x1b[3");
  lines.drop_begun();
  lines.push("next\n");
  ASSERT_EQ(out.size(), 1U);
  EXPECT_EQ(out[0].text, "next");
  EXPECT_EQ(out[0].number, 1U);
}

TEST(BootLines, SplitsDoNotMatter) {
  EXPECT_TRUE(rc::check([] {
    const auto bytes = *rc::gen::container<std::string>(rc::gen::weightedOneOf<char>(
        {{3, rc::gen::element('\r', '\n', '\x1b', '[', 'm', ';', '0')}, {1, rc::gen::arbitrary<char>()}}));
    const auto whole = split(bytes, bytes.size() + 1);
    std::vector<BootLine> pieces;
    BootLines lines([&pieces](const BootLine& line) { pieces.push_back(line); });
    for (std::size_t at = 0; at < bytes.size();) {
      const auto piece = *rc::gen::inRange<std::size_t>(1, 20);
      lines.push(std::string_view(bytes).substr(at, piece));
      at += piece;
    }
    lines.finish();
    RC_ASSERT(pieces.size() == whole.size());
    for (std::size_t i = 0; i < whole.size(); ++i) {
      RC_ASSERT(pieces[i].text == whole[i].text);
      RC_ASSERT(pieces[i].number == whole[i].number);
      RC_ASSERT(whole[i].text.find_first_of("\r\n\x1b") == std::string::npos);
    }
  }));
}

}  // namespace
}  // namespace rookery::proto
