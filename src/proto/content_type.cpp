#include "proto/content_type.h"

#include <fmt/format.h>

#include "proto/limits.h"

namespace rookery::proto {
namespace {

constexpr std::string_view kWhere = "Content-Type";
constexpr std::size_t kShownBytes = 80;  // of a bad value, in an error text

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

std::string lowered(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = lower(c);
  return out;
}

// Printable ASCII of a value that came from outside, cut to what a line can hold.
std::string shown(std::string_view text) {
  std::string out;
  for (const char c : text.substr(0, kShownBytes)) out += c >= 0x20 && c < 0x7F ? c : '?';
  if (text.size() > kShownBytes) out += "…";
  return out;
}

// A cursor over the value.
class Cursor {
 public:
  explicit Cursor(std::string_view text) : text_(text) {}

  bool done() const { return at_ >= text_.size(); }
  char peek() const { return text_[at_]; }
  void step() { ++at_; }
  void skip_blanks() {
    while (!done() && is_blank(peek())) step();
  }
  // Up to one of the stops or the end, without blanks at its end.
  std::string_view until(std::string_view stops) {
    const std::size_t begin = at_;
    while (!done() && stops.find(peek()) == std::string_view::npos) step();
    std::size_t end = at_;
    while (end > begin && is_blank(text_[end - 1])) --end;
    return text_.substr(begin, end - begin);
  }
  // Behind an opening quote: up to the closing one, which is taken too.
  std::string quoted() {
    std::string out;
    while (!done()) {
      char c = peek();
      step();
      if (c == '"') break;
      if (c == '\\' && !done()) {
        c = peek();
        step();
      }
      out += c;
    }
    return out;
  }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
};

}  // namespace

bool same_word(std::string_view a, std::string_view b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (lower(a[i]) != lower(b[i])) return false;
  }
  return true;
}

const std::string* ContentType::param(std::string_view name) const& {
  for (const auto& param : params) {
    if (same_word(param.name, name)) return &param.value;
  }
  return nullptr;
}

base::Result<ContentType> parse_content_type(std::string_view text) {
  ContentType out;
  Cursor at(text);
  at.skip_blanks();
  out.type = lowered(at.until("/;"));
  if (!at.done() && at.peek() == '/') {
    at.step();
    at.skip_blanks();
    out.subtype = lowered(at.until(";"));
  }
  if (out.type.empty() || out.subtype.empty()) {
    return base::Error(base::ErrorCode::malformed, std::string(kWhere),
                       fmt::format("\"{}\" names no type and subtype", shown(text)),
                       "A stream says multipart/x-mixed-replace and its boundary, a still says image/jpeg.");
  }
  while (!at.done()) {
    at.step();  // the ";"
    at.skip_blanks();
    const auto name = at.until("=;");
    if (at.done() || at.peek() != '=') continue;
    at.step();
    at.skip_blanks();
    std::string value;
    if (!at.done() && at.peek() == '"') {
      at.step();
      value = at.quoted();
      at.until(";");
    } else {
      value = at.until(";");
    }
    if (!name.empty()) out.params.push_back({lowered(name), std::move(value)});
  }
  return out;
}

base::Result<std::string> boundary_of(const ContentType& content_type) {
  const std::string* boundary = content_type.param("boundary");
  if (boundary == nullptr || boundary->empty()) {
    return base::Error(
        base::ErrorCode::malformed, std::string(kWhere),
        fmt::format("{}/{} without a boundary", shown(content_type.type), shown(content_type.subtype)),
        "Without it one picture cannot be told from the next. Check the address: it may be that of a "
        "page or a still.");
  }
  if (boundary->size() > kMaxBoundaryBytes) {
    return base::Error(
        base::ErrorCode::too_large, std::string(kWhere),
        fmt::format("a boundary of {} characters, beginning \"{}\"", boundary->size(), shown(*boundary)),
        fmt::format("RFC 2046 allows 70; up to {} are accepted.", kMaxBoundaryBytes));
  }
  return *boundary;
}

}  // namespace rookery::proto
