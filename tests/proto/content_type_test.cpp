// Content-Type values as boards and standards write them.
#include "proto/content_type.h"

#include <gtest/gtest.h>

namespace rookery::proto {
namespace {

std::string boundary_in(std::string_view text) {
  const auto type = parse_content_type(text);
  if (!type) return "unparsed: " + type.error().text();
  const auto boundary = boundary_of(*type);
  return boundary ? *boundary : "none: " + boundary.error().text();
}

TEST(ContentType, BoundaryInEveryForm) {
  for (const char* text : {
           "multipart/x-mixed-replace;boundary=abc",
           "multipart/x-mixed-replace; boundary=abc",
           "multipart/x-mixed-replace ; boundary = abc ",
           "Multipart/X-Mixed-Replace; BOUNDARY=\"abc\"",
           "multipart/mixed; charset=\"a;b=\\\"c\"; boundary=abc",
           "multipart/x-unheard-of;;boundary=abc;",
           "\tmultipart/x-mixed-replace;\r\n boundary=abc",
           "multipart/x-mixed-replace; boundary=\"abc",
           "multipart/x-mixed-replace; lonely; boundary=abc; boundary=second",
       }) {
    EXPECT_EQ(boundary_in(text), "abc") << text;
    EXPECT_TRUE(parse_content_type(text)->is_multipart()) << text;
  }
}

TEST(ContentType, QuotedBoundaryMayHoldAnything) {
  // RFC 2046 §5.1.1: quotes are needed when the boundary holds a colon.
  EXPECT_EQ(boundary_in("multipart/mixed; boundary=\"gc0pJq0M:08jU534c0p\""), "gc0pJq0M:08jU534c0p");
  EXPECT_EQ(boundary_in("multipart/mixed; boundary=\"a b;c=d\\\"e\""), "a b;c=d\"e");
}

TEST(ContentType, DashesStay) { EXPECT_EQ(boundary_in("multipart/x-mixed-replace;boundary=--abc"), "--abc"); }

TEST(ContentType, NamesAreCaseInsensitiveValuesAreNot) {
  const auto type = parse_content_type("Image/JPEG; Name=\"Anvil.JPG\"");
  ASSERT_TRUE(type.has_value());
  EXPECT_EQ(type->type, "image");
  EXPECT_EQ(type->subtype, "jpeg");
  EXPECT_TRUE(type->is_jpeg());
  EXPECT_FALSE(type->is_multipart());
  ASSERT_NE(type->param("NAME"), nullptr);
  EXPECT_EQ(*type->param("NAME"), "Anvil.JPG");
  EXPECT_EQ(type->param("boundary"), nullptr);
}

TEST(ContentType, RefusesWhatNamesNoType) {
  for (const char* text : {"", " ", ";", "/", "image", "image/", "/jpeg", "; boundary=abc"}) {
    const auto type = parse_content_type(text);
    ASSERT_FALSE(type.has_value()) << text;
    EXPECT_EQ(type.error().code, base::ErrorCode::malformed);
  }
}

TEST(ContentType, RefusalShowsTheValueWithoutControlCharacters) {
  const auto type = parse_content_type(std::string(500, 'x') + "\x1b[31m");
  ASSERT_FALSE(type.has_value());
  EXPECT_LT(type.error().text().size(), 300u);
  EXPECT_EQ(parse_content_type("\x1b[31m").error().text().find('\x1b'), std::string::npos);
}

TEST(ContentType, BoundaryMissingEmptyOrEndless) {
  EXPECT_EQ(boundary_of(*parse_content_type("multipart/x-mixed-replace")).error().code,
            base::ErrorCode::malformed);
  EXPECT_EQ(boundary_of(*parse_content_type("multipart/mixed; boundary=")).error().code,
            base::ErrorCode::malformed);
  EXPECT_EQ(boundary_of(*parse_content_type("text/html")).error().code, base::ErrorCode::malformed);
  const std::string head = "multipart/mixed; boundary=";
  EXPECT_EQ(boundary_in(head + std::string(70, 'b')), std::string(70, 'b'));
  EXPECT_EQ(boundary_in(head + std::string(200, 'b')), std::string(200, 'b'));  // the RFC allows 70
  EXPECT_EQ(boundary_of(*parse_content_type(head + std::string(257, 'b'))).error().code,
            base::ErrorCode::too_large);
}

}  // namespace
}  // namespace rookery::proto
