// Any list of parts, serialised in any framing that boards use, split anywhere, comes out again
// byte-identical.
#include <cstdlib>

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include "tests/proto/multipart_support.h"

namespace rookery::proto {
namespace {

// Enough to meet rare orders of pieces, at a few µs each; RC_PARAMS from outside wins.
[[maybe_unused]] const int kRuns = ::setenv("RC_PARAMS", "max_success=2000 max_size=60", 0);

enum class Length { honest, none, too_short, inside_delimiter, too_long };

struct Framing {
  std::string parameter;     // the boundary as announced
  std::string delimiter;     // as it stands on the wire, with its dashes
  std::string line_break;    // CRLF or LF
  std::string padding;       // behind the delimiter
  bool break_before = true;  // a line break before the delimiter
  bool first_break = true;   // the body starts with one
  bool closed = true;        // a closing delimiter at the end
  Length length = Length::honest;
  bool extra_fields = false;
};

Framing any_framing() {
  Framing f;
  // Boundary characters of RFC 2046 §5.1.1 that bodies below do not use, so that no body holds a delimiter.
  const auto name =
      *rc::gen::nonEmpty(rc::gen::container<std::string>(rc::gen::elementOf(std::string("QZ'()+_,./:=?"))));
  const std::string boundary = name.substr(0, 70);
  const int dashes = *rc::gen::inRange(0, 3);
  f.parameter = dashes == 0 ? boundary : "--" + boundary;
  f.delimiter = dashes == 2 ? "----" + boundary : "--" + boundary;
  f.line_break = *rc::gen::element(std::string("\r\n"), std::string("\n"));
  f.padding = *rc::gen::element(std::string(), std::string(" "), std::string("\t \t"));
  f.break_before = *rc::gen::arbitrary<bool>();
  f.first_break = *rc::gen::arbitrary<bool>();
  f.closed = *rc::gen::arbitrary<bool>();
  f.length = *rc::gen::element(Length::honest, Length::none, Length::too_short, Length::inside_delimiter,
                               Length::too_long);
  f.extra_fields = *rc::gen::arbitrary<bool>();
  return f;
}

// Bytes of every kind. A body whose end only the delimiter tells cannot end in a line break when none stands
// before the delimiter, or in a CR when a bare LF does; with an honest length, and in JPEG, there is no such
// limit.
std::string any_body(const Framing& f) {
  // A wrong length that ends right behind an EOI inside the body is believed, and no JPEG has one inside.
  const bool true_length = f.length == Length::honest || f.length == Length::none;
  auto bytes = *rc::gen::container<std::string>(
      rc::gen::element('\0', 'a', '-', '\r', '\n', '\xFF', '\xD8', ' ', true_length ? '\xD9' : 'b'));
  const bool jpeg = !f.closed || *rc::gen::arbitrary<bool>();
  if (jpeg) return "\xFF\xD8" + bytes + "\xFF\xD9";
  if (f.length == Length::honest && f.break_before) return bytes;
  while (!bytes.empty() && (bytes.back() == '\r' || bytes.back() == '\n' || bytes.back() == '-'))
    bytes.pop_back();
  return bytes;
}

std::size_t declared(Length length, std::size_t bytes) {
  switch (length) {
    case Length::too_short:
      return bytes / 2;
    case Length::inside_delimiter:
      return bytes + 3;
    case Length::too_long:
      return bytes + 1'000'000;
    default:
      return bytes;
  }
}

std::string serialised(const Framing& f, const std::vector<std::string>& bodies) {
  std::string out;
  bool first = true;
  for (const auto& body : bodies) {
    if (first ? f.first_break : f.break_before) out += f.line_break;
    first = false;
    out += f.delimiter + f.padding + f.line_break;
    if (f.extra_fields) out += "content-type: image/jpeg" + f.line_break + "X-Stamp: 1.5" + f.line_break;
    if (f.length != Length::none) {
      out += fmt::format("Content-Length: {}", declared(f.length, body.size())) + f.line_break;
    }
    out += f.line_break + body;
  }
  if (f.closed && !bodies.empty())
    out += (f.break_before ? f.line_break : "") + f.delimiter + "--" + f.line_break;
  return out;
}

TEST(MultipartProperty, AnyPartsInAnyFramingComeOutByteIdentical) {
  EXPECT_TRUE(rc::check([] {
    const Framing f = any_framing();
    const auto count = *rc::gen::inRange<std::size_t>(0, 6);
    std::vector<std::string> bodies;
    for (std::size_t i = 0; i < count; ++i) bodies.push_back(any_body(f));
    const std::string wire = serialised(f, bodies);
    MultipartReader reader(f.parameter);
    Heard heard;
    for (std::size_t at = 0; at < wire.size();) {
      const auto piece = *rc::gen::inRange<std::size_t>(1, 40);
      reader.push(bytes_of(wire.substr(at, piece)));
      drain(reader, heard);
      at += piece;
    }
    reader.finish();
    drain(reader, heard);
    RC_LOG() << "wire: " << wire;
    std::vector<std::string> got;
    for (const auto& part : heard.parts) got.push_back(text_of(part.body));
    RC_ASSERT(got == bodies);
    RC_ASSERT(heard.log.size() == bodies.size() + (f.closed && !bodies.empty() ? 1 : 0));
    RC_ASSERT(heard.stray_bytes == 0u);
    if (f.length == Length::honest || f.length == Length::none) {
      for (const auto& part : heard.parts) RC_ASSERT(!part.length_lied);
    }
  }));
}

TEST(MultipartProperty, AnyBytesSayTheSameHoweverTheyAreSplit) {
  EXPECT_TRUE(rc::check([] {
    const auto pieces = *rc::gen::container<std::vector<std::string>>(rc::gen::element(
        std::string("--B"), std::string("--"), std::string("\r\n"), std::string("\n"), std::string("--B\r\n"),
        std::string("--B--"), std::string("Content-Length: 7\r\n"), std::string("Content-Length: 40\r\n"),
        std::string("\xFF\xD8"), std::string("\xFF\xD9"), std::string("\r\n\r\n"), std::string("x"),
        std::string(" "), std::string("Content-"), std::string("0123456789")));
    std::string wire;
    for (const auto& piece : pieces) wire += piece;
    MultipartLimits limits;
    limits.max_part_bytes = *rc::gen::inRange<std::size_t>(0, 50);
    limits.max_part_header_bytes = *rc::gen::inRange<std::size_t>(0, 50);
    limits.max_preamble_bytes = *rc::gen::inRange<std::size_t>(0, 50);
    const std::string parameter = *rc::gen::element(std::string("B"), std::string("--B"));
    const Heard whole = listen(parameter, wire, wire.size() + 1, limits);
    for (const std::size_t piece : {1, 2, 3, 5}) {
      RC_ASSERT(listen(parameter, wire, piece, limits).log == whole.log);
    }
  }));
}

}  // namespace
}  // namespace rookery::proto
