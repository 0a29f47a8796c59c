// Whatever bytes come in: what is shown is UTF-8, obeyed by no terminal, and no longer than promised.
#include "base/printable.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <boost/json/value.hpp>

namespace rookery::base {
namespace {

std::size_t characters_in(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xc0U) != 0x80U; }));
}

// Judged by others: a JSON parser refuses text that is no UTF-8.
bool others_take_it(const std::string& text) {
  boost::system::error_code error;
  boost::json::parse(boost::json::serialize(boost::json::value(text)), error);
  return !error;
}

TEST(Printable, TextIsShownAsItIs) {
  EXPECT_EQ(printable("0,5 mm² für die Bucht 🙂"), "0,5 mm² für die Bucht 🙂");
  EXPECT_EQ(printable(R"(a "b" \x1b)"), R"(a "b" \x1b)");
  EXPECT_EQ(printable(""), "");
}

TEST(Printable, IsCutBetweenCharacters) {
  EXPECT_EQ(printable("ééééé", 5), "ééééé");
  EXPECT_EQ(printable("éééééé", 5), "éééé…");
  EXPECT_EQ(printable("🙂🙂", 1), "…");
  EXPECT_EQ(printable("abc\n", 5), "abc\\n");
  EXPECT_EQ(printable("abcd\n", 5), "abcd…") << "an escape is not cut in two";
  EXPECT_EQ(printable("abcde", 0), "…");
}

TEST(Printable, WhatATerminalWouldObeyIsAnEscape) {
  EXPECT_EQ(printable("\x1b[31mred\x07"), "\\x1b[31mred\\x07");
  EXPECT_EQ(printable("a\u009b31m"), "a\\x9b31m");
  EXPECT_EQ(printable("a\u202egnp.exe"), "a\\u202egnp.exe");
  EXPECT_EQ(printable(std::string_view("a\0b\x7f", 4)), "a\\x00b\\x7f");
  EXPECT_EQ(printable_lines("one\n\ttwo\x1b\rnone"), "one\n\ttwo\\x1b\\rnone");
}

// Unicode, table 3-7: what is no well-formed sequence.
TEST(Printable, BytesThatAreNoCharacterAreReplaced) {
  for (const std::string_view broken :
       {"\xff", "\xc0\xaf", "\xe0\x80\x80", "\xed\xa0\x80", "\xf4\x90\x80\x80", "\xf8\x88\x80\x80\x80",
        "\xc3", "\xe2\x82", "\x80"}) {
    const std::string out = printable(broken);
    EXPECT_TRUE(out.starts_with("\ufffd")) << out;
    EXPECT_TRUE(others_take_it(out));
    EXPECT_FALSE(is_printable(broken));
  }
  EXPECT_EQ(printable("\xe2\x82z"), "\ufffd\ufffdz");
}

RC_GTEST_PROP(Printable, AnyBytesBecomeShortValidTextOfItsOwnKind, (std::string text)) {
  // As many broken sequences, controls and long characters as plain ones.
  for (int i = *rc::gen::inRange(0, 12); i > 0; --i) {
    text += *rc::gen::elementOf(std::vector<std::string>{"é", "🙂", "\x1b[2J", "\xff", "\xe2\x82",
                                                         "\xed\xa0\x80", "\u009b", "\n", "…"});
  }
  const auto most = static_cast<std::size_t>(*rc::gen::inRange(1, 60));
  const std::string out = printable(text, most);
  RC_ASSERT(others_take_it(out));
  RC_ASSERT(characters_in(out) <= most);
  RC_ASSERT(is_printable(out));
  RC_ASSERT(printable(out, most) == out);
  const std::string lines = printable_lines(text);
  RC_ASSERT(others_take_it(lines));
  RC_ASSERT(is_printable(lines, true));
  RC_ASSERT(printable_lines(lines) == lines);
}

RC_GTEST_PROP(Printable, TextWithoutControlsStays, (const std::string& text)) {
  if (is_printable(text)) {
    RC_ASSERT(printable(text, text.size() + 1) == text);
  }
}

}  // namespace
}  // namespace rookery::base
