#include "proto/multipart.h"

#include <algorithm>
#include <cstring>

#include <fmt/format.h>

#include "proto/multipart_inner.h"

namespace rookery::proto {

using namespace inner;  // NOLINT(google-build-using-namespace)

namespace {

constexpr std::string_view kContentPrefix = "content-";

std::string_view trimmed(std::string_view text) {
  const auto begin = text.find_first_not_of(" \t");
  if (begin == std::string_view::npos) return {};
  return text.substr(begin, text.find_last_not_of(" \t") - begin + 1);
}

// The first place of two dashes from `from` to `last`, or last + 1. A delimiter begins with two, a picture
// holds a pair every 64 KiB: the compiler compares 16 or 32 places at a time, which makes the whole reader a
// third faster than memmem did (bench/bytes_bench.cpp).
std::size_t find_two_dashes(Bytes bytes, std::size_t from, std::size_t last) {
  constexpr std::size_t kBlock = 64;
  constexpr std::byte kDash{'-'};
  const std::byte* p = bytes.data();
  for (; from + kBlock <= last; from += kBlock) {
    std::uint8_t any = 0;
    for (std::size_t k = from; k < from + kBlock; ++k) {
      any |= static_cast<std::uint8_t>((p[k] == kDash) & (p[k + 1] == kDash));
    }
    if (any) break;
  }
  while (from <= last && (p[from] != kDash || p[from + 1] != kDash)) ++from;
  return from;
}

}  // namespace

const std::string* PartHeaders::find(std::string_view name) const& {
  for (const auto& field : fields) {
    if (same_word(field.name, name)) return &field.value;
  }
  return nullptr;
}

std::string_view name_of(PartFault kind) {
  switch (kind) {
    case PartFault::too_large:
      return "too-large";
    case PartFault::header_too_large:
      return "header-too-large";
    case PartFault::cut_short:
      return "cut-short";
  }
  return "unknown";
}

MultipartReader::MultipartReader(std::string_view boundary, MultipartLimits limits) : limits_(limits) {
  // "--x" announced may stand on the wire as "--x" (the board wrote its delimiter into the parameter) or as
  // "----x" (as the RFC has it): look for the shorter, and count dashes before it to the delimiter.
  // A boundary of dashes alone would be found inside itself and is taken as the RFC has it.
  if (boundary.starts_with("--") && boundary.find_first_not_of('-') != std::string_view::npos) {
    boundary.remove_prefix(2);
    boundary_had_dashes_ = true;
  }
  needle_ = fmt::format("--{}", boundary);
}

void MultipartReader::push(std::span<const std::byte> bytes) { take(bytes); }

std::optional<MultipartEvent> MultipartReader::next() {
  if (events_.empty()) return std::nullopt;
  std::optional<MultipartEvent> event(std::move(events_.front()));
  events_.pop_front();
  return event;
}

void MultipartReader::take(Bytes in) {
  while (!in.empty() && state_ != State::closed) {
    switch (state_) {
      case State::start:
        in = take_start(in);
        break;
      case State::header:
        in = take_header(in);
        break;
      case State::body:
        in = take_body(in);
        break;
      case State::preamble:
      case State::between:
      case State::skip:
        in = take_unwanted(in);
        break;
      case State::closed:
        break;
    }
  }
}

// --- before and between parts ---

// The first bytes of the body. A board that sends its delimiter after each picture starts with a part's
// header, or with the picture itself; everything else is a delimiter or a preamble.
std::span<const std::byte> MultipartReader::take_start(Bytes in) {
  while (!in.empty()) {
    const std::byte b = in[0];
    in = in.subspan(1);
    if (line_.empty() && is_line_break(b)) continue;
    line_ += static_cast<char>(b);
    const auto seen = std::as_bytes(std::span(line_));
    if (seen[0] == kFill && seen.size() < 2) continue;
    if (starts_as_jpeg(seen)) {
      begin_body_at_line();
      return in;
    }
    if (same_word(line_, kContentPrefix.substr(0, line_.size()))) {
      if (line_.size() < kContentPrefix.size()) continue;
      state_ = State::header;
      header_bytes_ = line_.size();
      return in;
    }
    held_.assign(seen.begin(), seen.end());
    line_.clear();
    state_ = State::preamble;
    return in;
  }
  return in;
}

// Looks for the next delimiter without keeping what stands before it.
std::span<const std::byte> MultipartReader::take_unwanted(Bytes in) {
  const std::size_t n = std::min(in.size(), kSlice);
  held_.insert(held_.end(), in.begin(), in.begin() + static_cast<std::ptrdiff_t>(n));
  const Found found = find_delimiter();
  // Two bytes stay before the place where a delimiter may begin: they may be dashes that belong to it.
  const std::size_t drop = found.complete() ? found.begin : (scan_from_ > 2 ? scan_from_ - 2 : 0);
  if (state_ != State::skip) {
    stray_bytes_ += static_cast<std::uint64_t>(
        std::count_if(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(drop),
                      [](std::byte b) { return !is_line_break(b); }));
  }
  unwanted_bytes_ += drop;
  if (state_ == State::preamble && unwanted_bytes_ > limits_.max_preamble_bytes) {
    fail_without_delimiter();
    return {};
  }
  if (!found.complete()) {
    held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(drop));
    scan_from_ -= drop;
    return in.subspan(n);
  }
  const std::size_t behind = held_.size() - found.end;  // all of it came with this slice
  after_delimiter(found.match);
  return in.subspan(n - behind);
}

void MultipartReader::after_delimiter(Match match) {
  held_.clear();
  scan_from_ = 0;
  if (match == Match::closing) {
    events_.emplace_back(End{});
    state_ = State::closed;
    return;
  }
  begin_header();
}

void MultipartReader::skip_to_delimiter(State state) {
  held_.clear();
  scan_from_ = 0;
  unwanted_bytes_ = 0;
  state_ = state;
}

void MultipartReader::fail_without_delimiter() {
  events_.emplace_back(Fatal{
      base::Error(base::ErrorCode::malformed, "multipart stream",
                  fmt::format("no line \"{}\" in the first {} bytes", needle_, limits_.max_preamble_bytes),
                  "The boundary that the board announces is not the one that it sends. Open the address with "
                  "another program to "
                  "see what it is.")});
  state_ = State::closed;
}

// --- a part's header ---

void MultipartReader::begin_header() {
  state_ = State::header;
  line_.clear();
  header_bytes_ = 0;
  headers_ = {};
}

std::span<const std::byte> MultipartReader::take_header(Bytes in) {
  const std::size_t room =
      limits_.max_part_header_bytes - std::min(header_bytes_, limits_.max_part_header_bytes);
  if (room == 0) {
    reject(PartFault::header_too_large, limits_.max_part_header_bytes);
    skip_to_delimiter(State::skip);
    return in;
  }
  const auto* end = static_cast<const std::byte*>(std::memchr(in.data(), '\n', std::min(in.size(), room)));
  const std::size_t n =
      end != nullptr ? static_cast<std::size_t>(end - in.data()) + 1 : std::min(in.size(), room);
  line_.append(reinterpret_cast<const char*>(in.data()), n);
  header_bytes_ += n;
  // A picture where a header line should be: the part has no header, or no empty line after it.
  const auto seen = std::as_bytes(std::span(line_));
  if (starts_as_jpeg(seen)) {
    header_bytes_ -= seen.size();
    begin_body_at_line();
  } else if (end != nullptr) {
    end_header_line();
  }
  return in.subspan(n);
}

void MultipartReader::end_header_line() {
  std::string_view line = line_;
  line.remove_suffix(1);
  if (line.ends_with('\r')) line.remove_suffix(1);
  if (line.empty()) {
    begin_body();
    return;
  }
  const Match match = match_line(line_);
  if (match == Match::none) {
    add_field(line);
    line_.clear();
    return;
  }
  // A header and nothing else is a part without a body (RFC 2046 §5.1.1); two delimiters in a row are none.
  if (!headers_.fields.empty()) {
    begin_body();
    deliver(0, declared_.value_or(0) != 0);
  }
  after_delimiter(match);
}

void MultipartReader::add_field(std::string_view line) {
  if ((line[0] == ' ' || line[0] == '\t') && !headers_.fields.empty()) {  // a folded line, RFC 5322 §2.2.3
    headers_.fields.back().value += fmt::format(" {}", trimmed(line));
    return;
  }
  const auto colon = line.find(':');
  if (colon == std::string_view::npos) return;  // not a field: a board's debug print, say
  headers_.fields.push_back(
      {std::string(trimmed(line.substr(0, colon))), std::string(trimmed(line.substr(colon + 1)))});
}

// The whole line, its line end included, as a delimiter.
MultipartReader::Match MultipartReader::match_line(std::string_view line) const {
  if (boundary_had_dashes_ && line.starts_with("--") && line.substr(2).starts_with(needle_))
    line.remove_prefix(2);
  if (!line.starts_with(needle_)) return Match::none;
  std::size_t end = 0;
  return match_after(std::as_bytes(std::span(line)), needle_.size(), end);
}

// --- delimiters ---

// What stands behind the needle, at `at`, makes it a delimiter or not.
MultipartReader::Match MultipartReader::match_after(Bytes bytes, std::size_t at, std::size_t& end) {
  const std::size_t size = bytes.size();
  if (at >= size) return Match::partial;
  if (bytes[at] == std::byte{'-'}) {
    if (at + 1 >= size) return Match::partial;
    end = at + 2;
    return bytes[at + 1] == std::byte{'-'} ? Match::closing : Match::none;
  }
  const std::size_t padding_end = at + kMaxPaddingBytes;
  while (at < size && (bytes[at] == std::byte{' '} || bytes[at] == std::byte{'\t'})) {
    if (++at > padding_end) return Match::none;
  }
  if (at < size && bytes[at] == std::byte{'\r'}) ++at;
  if (at >= size) return Match::partial;
  end = at + 1;
  return bytes[at] == std::byte{'\n'} ? Match::delimiter : Match::none;
}

// The first delimiter in held_ that begins at scan_from_ or later; moves scan_from_ so that no byte is looked
// at again but those that may begin one.
MultipartReader::Found MultipartReader::find_delimiter() {
  while (held_.size() - scan_from_ >= needle_.size()) {
    const std::size_t last = held_.size() - needle_.size();  // where it can begin
    scan_from_ = find_two_dashes(held_, scan_from_, last);
    if (scan_from_ > last) return {};
    if (std::memcmp(held_.data() + scan_from_, needle_.data(), needle_.size()) != 0) {
      ++scan_from_;
      continue;
    }
    Found found;
    found.begin = scan_from_;
    found.match = match_after(held_, found.begin + needle_.size(), found.end);
    if (found.match == Match::none) {
      ++scan_from_;
      continue;
    }
    if (boundary_had_dashes_ && found.begin >= 2 && held_[found.begin - 1] == std::byte{'-'} &&
        held_[found.begin - 2] == std::byte{'-'}) {
      found.begin -= 2;
    }
    return found;
  }
  return {};
}

}  // namespace rookery::proto
