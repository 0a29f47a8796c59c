#include "plan/unit_text.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <variant>

#include <fmt/format.h>

#include "base/printable.h"
#include "plan/unit_table.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

const KindWords& words_of(Kind kind) {
  return *std::find_if(kKinds.begin(), kKinds.end(),
                       [kind](const KindWords& words) { return words.kind == kind; });
}

// What people type for one and the same letter, made one.
std::string normalised(std::string_view text) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 12> kSame = {{
      {"\u00b5", "u"},
      {"\u03bc", "u"},
      {"\u2126", "ohm"},
      {"\u03a9", "ohm"},
      {"\u00b2", "2"},
      {"\u00b0", "deg"},
      {"\u2212", "-"},
      {"\u00a0", " "},
      {"\u202f", " "},
      {"\u2009", " "},
      {"\u2070", "0"},
      {"\t", " "},
  }};
  std::string out(text);
  for (const auto& [from, to] : kSame) {
    for (std::size_t at = out.find(from); at != std::string::npos; at = out.find(from, at + to.size())) {
      out.replace(at, from.size(), to);
    }
  }
  const std::size_t first = out.find_first_not_of(' ');
  if (first == std::string::npos) return {};
  return out.substr(first, out.find_last_not_of(' ') - first + 1);
}

constexpr std::size_t kLongestValue = 100;  // bytes; a number and a unit are a tenth of that

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

struct NumberAndUnit {
  double number = 0;
  std::string unit;
};

// A comma is a decimal mark, unless it may as well part thousands.
bool may_be_thousands(std::string_view digits) {
  const std::size_t comma = digits.find(',');
  if (comma == std::string_view::npos) return false;
  if (digits.find(',', comma + 1) != std::string_view::npos) return true;
  if (digits.find('.') != std::string_view::npos) return true;
  const std::string_view before = digits.substr(0, comma);
  return digits.size() - comma - 1 == 3 && before.size() <= 3 &&
         before.find_first_not_of('0') != std::string_view::npos;
}

// Whether the space at `space` parts thousands: behind one to three digits that are no nought alone, or
// behind another three, and before exactly three.
bool parts_thousands(std::string_view text, std::size_t space, std::string_view digits) {
  if (text[space] != ' ' || digits.find_first_not_of("0123456789") != std::string_view::npos) return false;
  const bool first_group = digits.size() <= 3;
  if (digits.empty() || digits.front() == '0') return false;
  const bool whole_before = first_group || (space >= 4 && text[space - 4] == ' ');
  const std::string_view behind = text.substr(space + 1);
  return whole_before && behind.size() >= 3 && is_digit(behind[0]) && is_digit(behind[1]) &&
         is_digit(behind[2]) && (behind.size() == 3 || !is_digit(behind[3]));
}

// The digits at the front of `text` from `at` on, with their marks, without the spaces between thousands.
std::string take_digits(std::string_view text, std::size_t& at) {
  std::string digits;
  while (at < text.size()) {
    if (is_digit(text[at]) || text[at] == '.' || text[at] == ',') {
      digits += text[at++];
    } else if (parts_thousands(text, at, digits)) {
      ++at;
    } else {
      break;
    }
  }
  return digits;
}

enum class Unread { no_number, thousands };

// The number at the front of `text` and whatever follows it, or why there is none.
std::variant<NumberAndUnit, Unread> split(const std::string& text) {
  std::size_t at = 0;
  if (at < text.size() && (text[at] == '-' || text[at] == '+')) ++at;
  std::string digits = take_digits(text, at);
  if (digits.empty()) return Unread::no_number;
  if (may_be_thousands(digits)) return Unread::thousands;
  std::replace(digits.begin(), digits.end(), ',', '.');
  // An exponent, but not the first letter of a unit.
  if (at + 1 < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    std::size_t end = at + 1;
    if (text[end] == '-' || text[end] == '+') ++end;
    if (end < text.size() && is_digit(text[end])) {
      while (end < text.size() && is_digit(text[end])) ++end;
      digits += text.substr(at, end - at);
      at = end;
    }
  }
  NumberAndUnit out;
  const char* end = digits.data() + digits.size();
  const auto [stop, error] = std::from_chars(digits.data(), end, out.number);
  if (error != std::errc() || stop != end) return Unread::no_number;
  if (text.front() == '-') out.number = -out.number;
  const std::size_t unit = text.find_first_not_of(' ', at);
  if (unit != std::string::npos) out.unit = text.substr(unit);
  return out;
}

// Exactly as written; else in any case (ma is mA, KHZ is kHz), when that leaves one and m is not taken for M.
std::optional<double> factor_of(const std::string& unit, Kind kind) {
  const auto same_front = [&](const Unit& each) {
    const bool either_is_mega = each.text.starts_with('M') || unit.starts_with('M');
    return !either_is_mega || each.text.front() == unit.front();
  };
  // A small b is a bit: eight times less than a byte.
  if ((kind == Kind::bytes || kind == Kind::byte_rate) && unit.find('b') != std::string::npos)
    return std::nullopt;
  const Unit* loose = nullptr;
  for (const Unit& each : kUnits) {
    if (each.kind != kind) continue;
    if (each.text == unit) return each.factor;
    if (lower(each.text) == lower(unit) && same_front(each)) loose = &each;
  }
  if (loose == nullptr) return std::nullopt;
  return loose->factor;
}

// "22 awg", "AWG 22": the word in front of its number or behind it, nowhere else.
std::optional<int> gauge_of(const std::string& text) {
  constexpr std::string_view kWord = "awg";
  const std::string low = lower(text);
  std::string_view rest = low;
  if (rest.starts_with(kWord)) {
    rest.remove_prefix(kWord.size());
    rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
  } else if (rest.ends_with(kWord)) {
    rest.remove_suffix(kWord.size());
    rest = rest.substr(0, rest.find_last_not_of(' ') + 1);
  } else {
    return std::nullopt;
  }
  int gauge = 0;
  const char* end = rest.data() + rest.size();
  const auto [stop, error] = std::from_chars(rest.data(), end, gauge);
  if (error != std::errc() || stop != end || gauge < 0 || gauge > 40) return std::nullopt;
  return gauge;
}

// How many decimals show `digits` significant ones, of what rounding leaves (0.9997 is 1.00).
int decimals_for(double value, int digits) {
  if (std::abs(value) < 1e-12) return digits - 1;
  const std::string rounded = fmt::format("{:.{}e}", value, digits - 1);
  const int exponent = std::atoi(rounded.c_str() + rounded.find('e') + 1);
  return std::clamp(digits - 1 - exponent, 0, 9);
}

double wire_diameter_m(double gauge) { return 0.127e-3 * std::pow(92.0, (36.0 - gauge) / 39.0); }

}  // namespace

base::Result<double> read_value(std::string_view text, Kind kind, const std::string& where,
                                std::string_view forms) {
  const KindWords& words = words_of(kind);
  if (forms.empty()) forms = words.forms;
  const auto fault = [&](std::string detail, std::string_view advice = {}) {
    return Error(ErrorCode::invalid_value, where, std::move(detail),
                 fmt::format("{}{}write it like {}", advice, advice.empty() ? "" : "; ", forms));
  };
  const auto refuse = [&](std::string_view why, std::string_view advice = {}) {
    return fault(fmt::format("\"{}\" {}", base::printable(text), why), advice);
  };
  // Before anything else: whoever asks over the network must not keep a core busy with a text of a megabyte.
  if (text.size() > kLongestValue)
    return fault(fmt::format("has {} bytes, far more than a value", text.size()));
  const std::string clean = normalised(text);
  if (kind == Kind::wire_size) {
    if (const auto gauge = gauge_of(clean)) return awg_area(*gauge);
  }
  const auto parts = split(clean);
  if (const Unread* unread = std::get_if<Unread>(&parts)) {
    if (*unread == Unread::no_number) return refuse("is not a number with a unit");
    return refuse("has a mark that may part thousands or begin decimals",
                  "leave out what parts thousands, and put a point before decimals");
  }
  const NumberAndUnit& read = std::get<NumberAndUnit>(parts);
  double factor = 1;
  if (read.unit.empty()) {
    if (words.usual == "-") return refuse("has no unit, which it needs");
    if (kind == Kind::ratio && std::abs(read.number) >= 1) {
      return refuse("may be a share or a number of percent",
                    fmt::format("write {:.6g} % or {:.6g} %", read.number, read.number * 100));
    }
    factor = factor_of(std::string(words.usual), kind).value_or(1);
  } else {
    const auto found = factor_of(read.unit, kind);
    if (!found) {
      return refuse(
          fmt::format("ends in \"{}\", which is no unit of {}", base::printable(read.unit), words.name));
    }
    factor = *found;
  }
  const double value = read.number * factor;
  if (!std::isfinite(value)) return refuse("is beyond all measure");
  if ((kind == Kind::count || kind == Kind::pixels) && value != std::floor(value))
    return refuse("is not a whole number");
  return value;
}

std::string show_value(double value, Kind kind, int digits) {
  const Unit* best = nullptr;
  const Unit* smallest = nullptr;
  for (const Unit& unit : kUnits) {
    if (unit.kind != kind || (unit.shown.empty() && !unit.text.empty())) continue;
    if (smallest == nullptr || unit.factor < smallest->factor) smallest = &unit;
    // 999.7 mV rounds to a thousand: it is a volt by then.
    const bool reaches = std::abs(value) >= unit.factor * unit.from * 0.9995;
    if (reaches && (best == nullptr || unit.factor > best->factor)) best = &unit;
  }
  // Nothing is nothing of the usual unit.
  if (value == 0) {
    for (const Unit& unit : kUnits) {
      if (unit.kind == kind && unit.text == words_of(kind).usual) best = &unit;
    }
  }
  const Unit* const usual = best != nullptr ? best : smallest;
  const double scaled = usual == nullptr ? value : value / usual->factor;
  const std::string_view unit = usual == nullptr ? std::string_view() : usual->shown;
  std::string number;
  if (kind == Kind::count || kind == Kind::pixels) {
    number = fmt::format("{:.0f}", scaled);
  } else if (kind == Kind::money) {
    number = fmt::format("{:.2f}", scaled);
  } else {
    number = fmt::format("{:.{}f}", scaled, decimals_for(scaled, digits));
  }
  if (unit.empty()) return number;
  return unit == "°" || unit == "/s" ? number + std::string(unit) : fmt::format("{} {}", number, unit);
}

std::string_view accepted_forms(Kind kind) { return words_of(kind).forms; }

std::vector<UnitName> units_of(Kind kind) {
  std::vector<UnitName> out;
  for (const Unit& unit : kUnits) {
    if (unit.kind == kind) out.push_back({unit.text, unit.factor, !unit.shown.empty(), unit.shown});
  }
  return out;
}

std::string_view usual_unit(Kind kind) {
  const std::string_view usual = words_of(kind).usual;
  if (usual == "-") return {};
  for (const Unit& unit : kUnits) {
    if (unit.kind == kind && unit.text == usual && !unit.shown.empty()) return unit.shown;
  }
  return usual;
}

std::string_view name_of(Kind kind) { return words_of(kind).name; }

double awg_area(int gauge) {
  const double diameter = wire_diameter_m(gauge);
  return M_PI / 4 * diameter * diameter;
}

double awg_of_area(double area) {
  const double diameter = std::sqrt(area * 4 / M_PI);
  return 36 - 39 * std::log(diameter / 0.127e-3) / std::log(92.0);
}

}  // namespace rookery::plan
