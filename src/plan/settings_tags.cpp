#include "plan/settings_tags.h"

#include <algorithm>
#include <optional>
#include <vector>

#include <fmt/format.h>

#include "base/printable.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

// As the library trims.
bool is_space(char c) { return c == ' ' || (c >= '\t' && c <= '\r'); }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

struct Delimiters {
  std::string begin = "{{";
  std::string end = "}}";

  bool are_braces() const { return begin == "{{" && end == "}}"; }
};

// "=<% %>=" between the delimiters of before.
std::optional<Delimiters> new_delimiters(std::string_view contents) {
  if (contents.size() < 5 || contents.back() != '=') return std::nullopt;
  const std::string_view inner = trimmed(contents.substr(1, contents.size() - 2));
  const std::size_t space = inner.find(' ');
  if (space == std::string_view::npos) return std::nullopt;
  const std::size_t behind = inner.find_first_not_of(' ', space);
  Delimiters out{std::string(inner.substr(0, space)), std::string(inner.substr(behind))};
  const auto may_not_be = [](char c) { return c == '=' || is_space(c); };
  for (const std::string& one : {out.begin, out.end}) {
    if (std::any_of(one.begin(), one.end(), may_not_be)) return std::nullopt;
  }
  return out;
}

// A section that is open, and where it began.
struct Open {
  std::string name;
  std::size_t at = 0;
};

class Scan {
 public:
  Scan(std::string_view text, const std::string& where) : text_(text), where_(where) {}

  base::Result<std::string> run() {
    while (true) {
      const std::size_t begin = text_.find(delimiters_.begin, at_);
      out_ += text_.substr(at_, begin - at_);
      if (begin == std::string_view::npos) break;
      if (auto read = read_tag(begin); !read) return read.error();
    }
    if (open_.empty()) return std::move(out_);
    return wrong(open_.back().at,
                 fmt::format("the section {} that begins here has no end", shown(open_.back())));
  }

 private:
  base::Result<void> read_tag(std::size_t begin) {
    std::size_t from = begin + delimiters_.begin.size();
    const bool raw = delimiters_.are_braces() && from < text_.size() && text_[from] == '{';
    if (raw) ++from;
    const std::string end = raw ? "}}}" : delimiters_.end;
    const std::size_t to = text_.find(end, from);
    if (to == std::string_view::npos) return wrong(begin, "a tag that begins here has no end");
    at_ = to + end.size();
    const std::string_view contents = trimmed(text_.substr(from, to - from));
    const char first = contents.empty() ? ' ' : contents.front();
    if (!raw && (first == '#' || first == '^' || first == '/')) {
      const std::string name(trimmed(contents.substr(1)));
      out_ += fmt::format("{}{}{}{}{}", delimiters_.begin, first, kSectionMark, name, delimiters_.end);
      return first == '/' ? close(name, begin) : open(name, begin);
    }
    out_ += text_.substr(begin, at_ - begin);
    if (first != '=') return base::ok();
    auto delimiters = new_delimiters(contents);
    if (!delimiters) return wrong(begin, "these are no delimiters");
    delimiters_ = std::move(*delimiters);
    return base::ok();
  }

  base::Result<void> open(const std::string& name, std::size_t begin) {
    if (open_.size() == kDeepestSections)
      return wrong(begin, fmt::format("more than {} sections stand in one another", kDeepestSections));
    open_.push_back({name, begin});
    return base::ok();
  }

  base::Result<void> close(const std::string& name, std::size_t begin) {
    if (open_.empty()) return wrong(begin, fmt::format("no section {} is open", base::printable(name)));
    if (open_.back().name != name) {
      return wrong(begin, fmt::format("ends the section {}, but {} is open", base::printable(name),
                                      shown(open_.back())));
    }
    open_.pop_back();
    return base::ok();
  }

  static std::string shown(const Open& open) { return base::printable(open.name); }

  Error wrong(std::size_t at, std::string detail) const {
    const auto line = 1 + std::count(text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at), '\n');
    return {ErrorCode::malformed, fmt::format("{} line {}", where_, line), std::move(detail),
            "mend the tags: {{name}}, {{#lamp}}…{{/lamp}}"};
  }

  std::string_view text_;
  const std::string& where_;
  std::size_t at_ = 0;
  Delimiters delimiters_;
  std::vector<Open> open_;
  std::string out_;
};

}  // namespace

base::Result<std::string> mark_sections(std::string_view text, const std::string& where) {
  return Scan(text, where).run();
}

}  // namespace rookery::plan
