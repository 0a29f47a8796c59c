// The multipart example that RFC 2046 itself gives (§5.1.1, "simple boundary").
#include <gtest/gtest.h>

#include "tests/proto/multipart_support.h"

namespace rookery::proto {
namespace {

// RFC 2046 §5.1.1, page 20, line for line, with the line ends that the RFC prescribes.
std::string example() {
  std::string out;
  for (const char* line : {
           "This is the preamble.  It is to be ignored, though it",
           "is a handy place for composition agents to include an",
           "explanatory note to non-MIME conformant readers.",
           "",
           "--simple boundary",
           "",
           "This is implicitly typed plain US-ASCII text.",
           "It does NOT end with a linebreak.",
           "--simple boundary",
           "Content-type: text/plain; charset=us-ascii",
           "",
           "This is explicitly typed plain US-ASCII text.",
           "It DOES end with a linebreak.",
           "",
           "--simple boundary--",
           "",
           "This is the epilogue.  It is also to be ignored.",
       }) {
    out += std::string(line) + "\r\n";
  }
  return out;
}

TEST(MultipartRfc2046, SimpleBoundaryExample) {
  const auto type =
      parse_content_type("multipart/mixed; boundary=\"simple boundary\"");  // §5.1.1, its header
  ASSERT_TRUE(type.has_value());
  const auto boundary = boundary_of(*type);
  ASSERT_TRUE(boundary.has_value());
  const std::string body = example();
  for (std::size_t piece = 1; piece <= body.size(); ++piece) {
    const Heard heard = listen(*boundary, body, piece);
    ASSERT_EQ(heard.parts.size(), 2u) << piece;
    // §5.1.1: the line break before the delimiter belongs to the delimiter, so the first part ends without
    // one.
    EXPECT_EQ(text_of(heard.parts[0].body),
              "This is implicitly typed plain US-ASCII text.\r\nIt does NOT end with a linebreak.");
    EXPECT_EQ(heard.parts[0].body.size(), 80u);
    EXPECT_TRUE(heard.parts[0].headers.fields.empty());
    EXPECT_EQ(text_of(heard.parts[1].body),
              "This is explicitly typed plain US-ASCII text.\r\nIt DOES end with a linebreak.\r\n");
    EXPECT_EQ(heard.parts[1].body.size(), 78u);
    EXPECT_EQ(*heard.parts[1].headers.find("Content-Type"), "text/plain; charset=us-ascii");
    EXPECT_EQ(heard.log.back(), "end") << "the epilogue is ignored";
  }
}

}  // namespace
}  // namespace rookery::proto
