// A part's body: where it ends, by its delimiter and by the length that was declared.
#include <algorithm>

#include "proto/multipart.h"
#include "proto/multipart_inner.h"

namespace rookery::proto {

using namespace inner;  // NOLINT(google-build-using-namespace)

namespace {

// A board whose lengths were wrong this often is not believed again on this connection. It bounds the work
// that a wrong length can make (bytes held in vain and read again) to a few parts.
constexpr int kLiesForgiven = 3;

// Line breaks between a body and its delimiter that count as none.
constexpr std::size_t kMaxBlankBytes = 8;
// Before a delimiter, and part of it (MultipartReader's constructor).
constexpr std::size_t kDashBytes = 2;

// What a delivered body may waste of its memory.
constexpr std::size_t kMaxSpareBytes = 64 * 1024;

std::optional<std::uint64_t> parse_length(const std::string* text) {
  constexpr std::size_t kMaxDigits = 18;  // below 2^63
  if (text == nullptr || text->empty() || text->size() > kMaxDigits) return std::nullopt;
  std::uint64_t value = 0;
  for (const char c : *text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + static_cast<std::uint64_t>(c - '0');
  }
  return value;
}

}  // namespace

void MultipartReader::begin_body() {
  state_ = State::body;
  scan_from_ = 0;
  inside_.reset();
  declared_ = parse_length(headers_.find("Content-Length"));
  believed_ = declared_ && *declared_ <= limits_.max_part_bytes && lies_ < kLiesForgiven;
  held_.clear();
  // Room for the delimiter as well, since a body that does not end as a JPEG waits for it.
  const std::size_t expected = believed_ ? static_cast<std::size_t>(*declared_) : last_body_bytes_ + kSlice;
  held_.reserve(expected + needle_.size() + kMaxBlankBytes);
}

// What was taken for a header line is the beginning of the body.
void MultipartReader::begin_body_at_line() {
  const std::string first = std::move(line_);
  line_.clear();
  begin_body();
  take(std::as_bytes(std::span(first)));
}

std::span<const std::byte> MultipartReader::take_body(Bytes in) {
  std::size_t n = std::min(in.size(), kSlice);
  if (believed_ && held_.size() < *declared_)
    n = std::min(n, static_cast<std::size_t>(*declared_) - held_.size());
  held_.insert(held_.end(), in.begin(), in.begin() + static_cast<std::ptrdiff_t>(n));
  while (true) {
    const Found found = find_delimiter();
    if (!found.complete()) break;
    if (believed_ && found.end <= *declared_ && !ends_early(found)) {
      if (!inside_) inside_ = found;
      scan_from_ = found.end;
      continue;
    }
    if (inside_ && !is_honest(found)) {
      replay_from_inside();
      return in.subspan(n);
    }
    const std::size_t behind = held_.size() - found.end;  // all of it came with this slice
    end_body(found);
    return in.subspan(n - behind);
  }
  if (believed_ && held_.size() == *declared_ && ends_as_jpeg(held_)) {
    deliver(held_.size(), false);
    skip_to_delimiter(State::between);
  } else if (scan_from_ > limits_.max_part_bytes + kMaxBlankBytes + kDashBytes) {
    // Even if all the line breaks that count as none, and two dashes, stand before a delimiter.
    end_oversize_body();
  }
  return in.subspan(n);
}

// A delimiter before the declared length is one all the same if a whole picture stands before it. Other
// bodies may hold what looks like a delimiter, so there the length decides.
bool MultipartReader::ends_early(const Found& found) const {
  return ends_as_jpeg(Bytes(held_).first(without_line_break(held_, found.begin)));
}

// True if the declared length is where this delimiter says that the body ends.
bool MultipartReader::is_honest(const Found& found) const {
  if (!declared_ || *declared_ > found.begin || found.begin - *declared_ > kMaxBlankBytes) return false;
  const auto between = Bytes(held_).subspan(static_cast<std::size_t>(*declared_),
                                            found.begin - static_cast<std::size_t>(*declared_));
  return std::all_of(between.begin(), between.end(), is_line_break);
}

void MultipartReader::end_body(const Found& found) {
  if (is_honest(found)) {
    deliver(static_cast<std::size_t>(*declared_), false);
  } else {
    deliver(without_line_break(held_, found.begin), declared_.has_value());
  }
  after_delimiter(found.match);
}

// The length was too long: the part ended at the delimiter inside, and what was held behind it is read again.
void MultipartReader::replay_from_inside() {
  const Found found = *inside_;
  const std::vector<std::byte> behind(held_.begin() + static_cast<std::ptrdiff_t>(found.end), held_.end());
  deliver(without_line_break(held_, found.begin), true);
  after_delimiter(found.match);
  take(behind);
}

void MultipartReader::end_oversize_body() {
  if (inside_) {
    replay_from_inside();
    return;
  }
  // The last bytes may begin a delimiter, and two dashes before them may belong to it.
  const std::size_t keep = scan_from_ - 2;
  std::vector<std::byte> window(held_.begin() + static_cast<std::ptrdiff_t>(keep), held_.end());
  reject(PartFault::too_large, limits_.max_part_bytes);
  skip_to_delimiter(State::skip);
  held_ = std::move(window);
  scan_from_ = 2;
}

void MultipartReader::deliver(std::size_t body_bytes, bool lied) {
  // Too large before lied: in small pieces such a part is given up before its end shows that it lied.
  if (body_bytes > limits_.max_part_bytes) {
    reject(PartFault::too_large, limits_.max_part_bytes);
    return;
  }
  if (lied) ++lies_;
  held_.resize(body_bytes);
  if (held_.capacity() - body_bytes > std::max(kMaxSpareBytes, body_bytes)) held_.shrink_to_fit();
  last_body_bytes_ = body_bytes;
  events_.emplace_back(Part{std::move(headers_), std::move(held_), lied});
  headers_ = {};
  held_ = {};
}

void MultipartReader::reject(PartFault kind, std::uint64_t bytes) {
  events_.emplace_back(PartRejected{kind, bytes});
}

// --- the end of the connection ---

void MultipartReader::finish() {
  if (state_ == State::body) {
    finish_body();
  } else if (state_ == State::header) {
    if (match_line(line_) == Match::closing) {
      events_.emplace_back(End{});
    } else if (header_bytes_ > 0 && match_line(line_) == Match::none) {
      reject(PartFault::cut_short, header_bytes_);
    }
  }
  state_ = State::closed;
}

void MultipartReader::finish_body() {
  Found last = find_delimiter();  // a delimiter without its line end, if anything
  const bool has_delimiter = last.match == Match::partial;
  if (!has_delimiter) last.begin = without_torn_delimiter();
  const std::size_t end = without_line_break(held_, last.begin);
  if (is_honest(last)) {
    deliver(static_cast<std::size_t>(*declared_), false);
  } else if (ends_as_jpeg(Bytes(held_).first(end)) || (has_delimiter && !inside_)) {
    deliver(end, declared_.has_value());
  } else if (inside_) {
    replay_from_inside();
    finish();
  } else {
    reject(PartFault::cut_short, header_bytes_ + held_.size());
  }
}

// Where the beginning of a delimiter stands at the end of what came, or the end.
std::size_t MultipartReader::without_torn_delimiter() const {
  const std::string_view all(reinterpret_cast<const char*>(held_.data()), held_.size());
  for (std::size_t n = std::min(needle_.size() - 1, all.size()); n > 0; --n) {
    const std::size_t at = all.size() - n;
    if (all.ends_with(std::string_view(needle_).substr(0, n)) && at > 0 && is_line_break(held_[at - 1])) {
      return at;
    }
  }
  return all.size();
}

}  // namespace rookery::proto
