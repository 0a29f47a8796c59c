#include "archive/person_name.h"

#include <locale.h>
#include <wctype.h>

#include <boost/locale/utf.hpp>

namespace rookery::archive {
namespace {

namespace utf = boost::locale::utf;
constexpr std::size_t kMost = 64;

// Nullopt: not UTF-8.
std::optional<std::vector<utf::code_point>> decode(std::string_view text) {
  std::vector<utf::code_point> points;
  for (const char *at = text.data(), *end = at + text.size(); at != end;) {
    const utf::code_point point = utf::utf_traits<char>::decode(at, end);
    if (point == utf::illegal || point == utf::incomplete) return std::nullopt;
    points.push_back(point);
  }
  return points;
}

// Controls, line and paragraph separators, what turns or hides text (base::printable escapes the same), tags
// and letters that are blank: two names that look the same must not be two people.
bool is_forbidden(utf::code_point point) {
  return point < 0x20 || (point >= 0x7f && point < 0xa0) || point == 0xad || point == 0x61c ||
         point == 0x115f || point == 0x1160 || point == 0x180e || (point >= 0x200b && point <= 0x200f) ||
         (point >= 0x2028 && point <= 0x202e) || (point >= 0x2060 && point <= 0x206f) || point == 0x2800 ||
         point == 0x3164 || point == 0xfeff || point == 0xffa0 || (point >= 0xe0000 && point <= 0xe007f);
}

bool is_space(utf::code_point point) {
  return point == 0x20 || point == 0xa0 || point == 0x1680 || (point >= 0x2000 && point <= 0x200a) ||
         point == 0x202f || point == 0x205f || point == 0x3000;
}

base::Error invalid(std::string_view what, std::string detail, std::string remedy) {
  return {base::ErrorCode::invalid_value, std::string(what), std::move(detail), std::move(remedy)};
}

}  // namespace

base::Result<std::string> check_label(std::string_view what, std::string_view text, std::size_t least) {
  const auto points = decode(text);
  if (!points) return invalid(what, "it is not UTF-8 text", "Write it with a keyboard set to UTF-8.");
  if (points->size() < least) return invalid(what, "it is empty", "Give 1 to 64 characters.");
  if (points->size() > kMost) {
    return invalid(what, fmt::format("it has {} characters, at most {} are allowed", points->size(), kMost),
                   "Shorten it.");
  }
  for (const utf::code_point point : *points) {
    if (!is_forbidden(point)) continue;
    return invalid(what,
                   fmt::format("it holds the invisible character U+{:04X}", static_cast<unsigned>(point)),
                   "Leave it out; it may have come along when the text was pasted.");
  }
  if (!points->empty() && (is_space(points->front()) || is_space(points->back()))) {
    return invalid(what, "it starts or ends with a space", "Leave that space out.");
  }
  return std::string(text);
}

std::string fold_case(std::string_view text) {
  // C.UTF-8 is part of the C library since glibc 2.35, so it does not depend on which languages are
  // installed.
  static const locale_t locale = ::newlocale(LC_CTYPE_MASK, "C.UTF-8", nullptr);
  std::string folded;
  const auto points = decode(text);
  if (!points) return std::string(text);
  for (utf::code_point point : *points) {
    if (locale != nullptr) {
      point = static_cast<utf::code_point>(::towlower_l(static_cast<wint_t>(point), locale));
    } else if (point >= 'A' && point <= 'Z') {
      point += 'a' - 'A';
    }
    utf::utf_traits<char>::encode(point, std::back_inserter(folded));
  }
  return folded;
}

}  // namespace rookery::archive
