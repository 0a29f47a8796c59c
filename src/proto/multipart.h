// MultipartReader: takes a multipart body (RFC 2046 §5.1, and what boards make of it) apart, part by part.
//
//   auto boundary = boundary_of(*parse_content_type(field));
//   MultipartReader reader(*boundary);
//   on bytes:  reader.push(bytes);  while (auto event = reader.next()) { … }
//   on close:  reader.finish();     while (auto event = reader.next()) { … }
//
// docs/formats/multipart.md has the grammar that is accepted, docs/tolerances.md the test for each oddity.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "base/result.h"
#include "proto/content_type.h"
#include "proto/limits.h"

namespace rookery::proto {

// The fields of one part's header, in the order sent.
struct PartHeaders {
  struct Field {
    std::string name;   // as sent
    std::string value;  // without white space around it
  };
  std::vector<Field> fields;

  // The first field of that name (any case), or nullptr.
  const std::string* find(std::string_view name) const&;
  const std::string* find(std::string_view name) const&& = delete;
};

// One part. The body is the caller's to keep: it was copied once, from the bytes pushed.
struct Part {
  PartHeaders headers;
  std::vector<std::byte> body;  // may be empty
  // The part's Content-Length was not where its delimiter stood; the body is what the delimiters enclose.
  bool length_lied = false;
};

// Why a part was not delivered.
enum class PartFault {
  too_large,         // body over MultipartLimits::max_part_bytes
  header_too_large,  // header over max_part_header_bytes, or without an end
  cut_short,         // the connection ended inside the part
};

// A machine word: "too-large", "header-too-large", "cut-short".
std::string_view name_of(PartFault kind);

// A part that was counted and thrown away. bytes: for cut_short what had come of it (header and body), for
// the others the bound that it broke.
struct PartRejected {
  PartFault kind{};
  std::uint64_t bytes = 0;
};

// The closing delimiter came. Whatever follows is the epilogue and is ignored.
struct End {};

// Nothing more can come of this body: too many bytes without a delimiter. The last event.
struct Fatal {
  base::Error error;
};

using MultipartEvent = std::variant<Part, PartRejected, End, Fatal>;

struct MultipartLimits {
  std::size_t max_part_bytes = kMaxPartBytes;
  std::size_t max_part_header_bytes = kMaxPartHeaderBytes;
  std::size_t max_preamble_bytes = kMaxPreambleBytes;
};

// strand-bound. Holds at most one part of at most max_part_bytes, besides the events not yet taken.
//
// The same bytes give the same events however they are split. A part with a Content-Length that ends as a
// JPEG ends is delivered with its last byte, without waiting for the delimiter after it, which a board sends
// together with its next picture; every other part is delivered when the delimiter after it has come.
class MultipartReader {
 public:
  // boundary: as boundary_of() returns it, with or without leading dashes.
  explicit MultipartReader(std::string_view boundary, MultipartLimits limits = {});

  // The next bytes of the body; they may go away when the call returns. Ignored after End, Fatal or finish().
  void push(std::span<const std::byte> bytes);

  // No more bytes will come. A part that is visibly whole is delivered, any other is rejected as cut_short.
  void finish();

  // The next event, or nothing until more is pushed.
  std::optional<MultipartEvent> next();

  // Bytes outside any part other than delimiters and line breaks: preamble, and what stood between a part and
  // the next delimiter. Means nothing after Fatal.
  std::uint64_t stray_bytes() const { return stray_bytes_; }

 private:
  using Bytes = std::span<const std::byte>;
  enum class State { start, preamble, header, body, between, skip, closed };
  enum class Match { none, partial, delimiter, closing };
  struct Found {
    Match match = Match::none;
    std::size_t begin = 0;  // of the delimiter, with its dashes
    std::size_t end = 0;    // behind its line end
    bool complete() const { return match == Match::delimiter || match == Match::closing; }
  };

  // Each takes some of the bytes and returns the rest.
  void take(Bytes in);
  Bytes take_start(Bytes in);
  Bytes take_unwanted(Bytes in);
  Bytes take_header(Bytes in);
  Bytes take_body(Bytes in);

  void skip_to_delimiter(State state);
  void fail_without_delimiter();
  void after_delimiter(Match match);
  void begin_header();
  void end_header_line();
  void add_field(std::string_view line);

  void begin_body();
  void begin_body_at_line();
  void end_body(const Found& found);
  void end_oversize_body();
  void finish_body();
  bool ends_early(const Found& found) const;
  bool is_honest(const Found& found) const;
  void replay_from_inside();
  void deliver(std::size_t body_bytes, bool lied);
  void reject(PartFault kind, std::uint64_t bytes);

  Found find_delimiter();
  std::size_t without_torn_delimiter() const;
  Match match_line(std::string_view line) const;
  static Match match_after(Bytes bytes, std::size_t at, std::size_t& end);

  MultipartLimits limits_;
  std::string needle_;  // "--" and the boundary, which has lost its own two dashes if it had them
  bool boundary_had_dashes_ = false;

  State state_ = State::start;
  std::deque<MultipartEvent> events_;

  std::string line_;  // of the header, not yet ended
  std::size_t header_bytes_ = 0;
  PartHeaders headers_;

  // Body bytes and, at the end, possibly the beginning of a delimiter. In the states that want no body: a
  // window just long enough to find a delimiter.
  std::vector<std::byte> held_;
  std::size_t scan_from_ = 0;              // no delimiter begins before
  std::optional<std::uint64_t> declared_;  // Content-Length
  bool believed_ = false;                  // declared_ is waited for
  std::optional<Found> inside_;            // first delimiter seen before declared_ was reached
  std::size_t last_body_bytes_ = 0;
  int lies_ = 0;
  std::uint64_t unwanted_bytes_ = 0;  // dropped since the last delimiter
  std::uint64_t stray_bytes_ = 0;
};

}  // namespace rookery::proto
