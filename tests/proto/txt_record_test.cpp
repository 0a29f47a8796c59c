#include "proto/txt_record.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::proto {
namespace {

TxtRecord parsed(std::string_view text) {
  return parse_txt({reinterpret_cast<const std::byte*>(text.data()), text.size()});
}

using Pairs = std::vector<std::pair<std::string, std::string>>;

TEST(TxtRecord, TheStandardsExampleIsRead) {
  // RFC 6763 §6.3 and §6.4: "key=value", "paper=A4", "passreq"; 096b65793d76616c7565 0870617065723d4134
  // 0770617373726571.
  const TxtRecord txt = parsed("\x09key=value\x08paper=A4\x07passreq");
  EXPECT_EQ(txt.pairs, (Pairs{{"key", "value"}, {"paper", "A4"}, {"passreq", ""}}));
  EXPECT_EQ(txt.find("PAPER"), "A4");
  EXPECT_EQ(txt.find("pass"), std::nullopt);
}

TEST(TxtRecord, NoBytesAndEmptyStringsSayNothing) {
  EXPECT_TRUE(parsed("").pairs.empty());
  EXPECT_TRUE(parsed(std::string_view("\0", 1)).pairs.empty());
  EXPECT_EQ(parsed(std::string_view("\0\3a=1\0", 6)).pairs, (Pairs{{"a", "1"}}));
}

TEST(TxtRecord, OfAKeyThatStandsTwiceTheFirstCountsWhateverItsCase) {
  EXPECT_EQ(parsed("\3a=1\3A=2\1a").pairs, (Pairs{{"a", "1"}}));
}

TEST(TxtRecord, AStringWithoutAKeyIsLeftOut) { EXPECT_EQ(parsed("\2=1\3b=2").pairs, (Pairs{{"b", "2"}})); }

TEST(TxtRecord, AValueMayHoldEqualsSignsAndAnyByte) {
  EXPECT_EQ(parsed("\5x=y=\xff").pairs, (Pairs{{"x", "y=\xff"}}));
}

TEST(TxtRecord, ACutStringEndsTheRecord) {
  EXPECT_EQ(parsed("\3a=1\x20"
                   "b=2")
                .pairs,
            (Pairs{{"a", "1"}}));
}

TEST(Printable, LeavesTextAndPictographsAlone) { EXPECT_EQ(printable("kiln v1.2 · 🌱"), "kiln v1.2 · 🌱"); }

TEST(Printable, WhatSteersATerminalOrIsNoUtf8BecomesAQuestionMark) {
  EXPECT_EQ(printable("a\x1b[2Jb\n\x7f"), "a?[2Jb??");
  EXPECT_EQ(printable("\xc0\xaf \xed\xa0\x80 \xf5"), "?? ??? ?");
  EXPECT_EQ(printable("\xc2\x9b"), "??");  // C1: CSI in one character
  EXPECT_EQ(printable("\xe2\x80\xae"
                      "abc"),
            "???abc");  // turns the text around
  EXPECT_EQ(printable("\xe2\x82"), "??");
}

TEST(Printable, IsCutBetweenCharacters) { EXPECT_EQ(printable("äöü", 5), "äö…"); }

RC_GTEST_PROP(TxtRecord, AnyBytesAreTaken, (const std::string& bytes)) {
  const TxtRecord txt = parsed(bytes);
  for (const auto& [key, value] : txt.pairs) RC_ASSERT(!key.empty() && key.size() + value.size() <= 255);
  RC_ASSERT(printable(printable(bytes, 4096), 4096) == printable(bytes, 4096));
}

}  // namespace
}  // namespace rookery::proto
