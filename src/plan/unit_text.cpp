#include "plan/unit_text.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <optional>

#include <fmt/format.h>

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

// One way to write a unit. `shown` ones are what show_value chooses among, by size.
struct Unit {
  Kind kind;
  std::string_view text;  // as normalised(): µ is u, Ω is ohm, ² is 2, ° is deg
  double factor;
  std::string_view shown = {};
  double from = 1;  // shown from so much of it on; 0.27 mm is no 270 µm to people at a bench
};

constexpr double kHour = 3600;

constexpr std::array kUnits = std::to_array<Unit>({
    {Kind::voltage, "V", 1, "V"},
    {Kind::voltage, "mV", 1e-3, "mV"},
    {Kind::voltage, "kV", 1e3, "kV"},
    {Kind::voltage, "MV", 1e6, "MV"},
    {Kind::voltage, "V DC", 1},
    {Kind::voltage, "VDC", 1},
    {Kind::voltage, "volt", 1},
    {Kind::voltage, "volts", 1},
    {Kind::current, "A", 1, "A"},
    {Kind::current, "mA", 1e-3, "mA"},
    {Kind::current, "uA", 1e-6, "µA"},
    {Kind::current, "kA", 1e3, "kA"},
    {Kind::current, "amp", 1},
    {Kind::current, "amps", 1},
    {Kind::power, "W", 1, "W"},
    {Kind::power, "mW", 1e-3, "mW"},
    {Kind::power, "uW", 1e-6, "µW"},
    {Kind::power, "kW", 1e3, "kW"},
    {Kind::power, "watt", 1},
    {Kind::power, "watts", 1},
    {Kind::resistance, "ohm", 1, "Ω"},
    {Kind::resistance, "mohm", 1e-3, "mΩ"},
    {Kind::resistance, "kohm", 1e3, "kΩ"},
    {Kind::resistance, "Mohm", 1e6, "MΩ"},
    {Kind::resistance, "ohms", 1},
    {Kind::resistance, "R", 1},
    {Kind::resistance, "k", 1e3},
    {Kind::energy, "Wh", kHour, "Wh"},
    {Kind::energy, "mWh", kHour * 1e-3, "mWh"},
    {Kind::energy, "kWh", kHour * 1e3, "kWh"},
    {Kind::energy, "J", 1},
    {Kind::energy, "kJ", 1e3},
    {Kind::charge, "mAh", kHour * 1e-3, "mAh"},
    {Kind::charge, "Ah", kHour},
    {Kind::charge, "C", 1},
    {Kind::capacitance, "uF", 1e-6, "µF"},
    {Kind::capacitance, "nF", 1e-9, "nF"},
    {Kind::capacitance, "pF", 1e-12},
    {Kind::capacitance, "mF", 1e-3},
    {Kind::capacitance, "F", 1},
    {Kind::inductance, "uH", 1e-6, "µH"},
    {Kind::inductance, "nH", 1e-9},
    {Kind::inductance, "mH", 1e-3, "mH"},
    {Kind::inductance, "H", 1},
    {Kind::frequency, "Hz", 1, "Hz"},
    {Kind::frequency, "kHz", 1e3, "kHz"},
    {Kind::frequency, "MHz", 1e6, "MHz"},
    {Kind::frequency, "GHz", 1e9, "GHz"},
    {Kind::duration, "s", 1, "s"},
    {Kind::duration, "ms", 1e-3, "ms"},
    {Kind::duration, "us", 1e-6, "µs"},
    {Kind::duration, "ns", 1e-9, "ns"},
    {Kind::duration, "min", 60, "min"},
    {Kind::duration, "h", kHour, "h"},
    {Kind::duration, "days", 24 * kHour, "days"},
    {Kind::duration, "d", 24 * kHour},
    {Kind::duration, "day", 24 * kHour},
    {Kind::duration, "years", 365.25 * 24 * kHour, "years"},
    {Kind::duration, "year", 365.25 * 24 * kHour},
    {Kind::duration, "a", 365.25 * 24 * kHour},
    {Kind::duration, "sec", 1},
    {Kind::duration, "hours", kHour},
    {Kind::duration, "minutes", 60},
    {Kind::length, "m", 1, "m"},
    {Kind::length, "mm", 1e-3, "mm", 0.1},
    {Kind::length, "um", 1e-6, "µm"},
    {Kind::length, "nm", 1e-9},
    {Kind::length, "cm", 1e-2},
    {Kind::length, "km", 1e3},
    {Kind::length, "ft", 0.3048},
    {Kind::length, "in", 0.0254},
    {Kind::speed, "m/s", 1, "m/s"},
    {Kind::speed, "mm/s", 1e-3, "mm/s"},
    {Kind::speed, "cm/s", 1e-2},
    {Kind::speed, "mm/min", 1e-3 / 60},
    {Kind::speed, "km/h", 1 / 3.6},
    {Kind::wire_size, "mm2", 1e-6, "mm²"},
    {Kind::wire_size, "sqmm", 1e-6},
    {Kind::wire_size, "mm^2", 1e-6},
    {Kind::temperature, "degC", 1, "°C"},
    {Kind::temperature, "C", 1},
    {Kind::heat_resistance, "K/W", 1, "K/W"},
    {Kind::heat_resistance, "degC/W", 1},
    {Kind::heat_resistance, "C/W", 1},
    {Kind::ratio, "%", 1e-2, "%"},
    {Kind::count, "", 1, ""},
    {Kind::number, "", 1, ""},
    {Kind::angle, "deg", 1, "°"},
    {Kind::angle, "degrees", 1},
    {Kind::level, "dBm", 1, "dBm"},
    {Kind::loss, "dB", 1, "dB"},
    {Kind::bytes, "B", 1, "B"},
    {Kind::bytes, "kB", 1e3, "kB"},
    {Kind::bytes, "MB", 1e6, "MB"},
    {Kind::bytes, "GB", 1e9, "GB"},
    {Kind::bytes, "TB", 1e12, "TB"},
    {Kind::bytes, "KiB", 1024.0},
    {Kind::bytes, "MiB", 1024.0 * 1024},
    {Kind::bytes, "GiB", 1024.0 * 1024 * 1024},
    {Kind::bytes, "TiB", 1024.0 * 1024 * 1024 * 1024},
    {Kind::byte_rate, "B/s", 1, "B/s"},
    {Kind::byte_rate, "kB/s", 1e3, "kB/s"},
    {Kind::byte_rate, "MB/s", 1e6, "MB/s"},
    {Kind::byte_rate, "GB/s", 1e9, "GB/s"},
    {Kind::bit_rate, "Mbit/s", 1e6, "Mbit/s"},
    {Kind::bit_rate, "kbit/s", 1e3, "kbit/s"},
    {Kind::bit_rate, "bit/s", 1, "bit/s"},
    {Kind::bit_rate, "Gbit/s", 1e9, "Gbit/s"},
    {Kind::bit_rate, "Mb/s", 1e6},
    {Kind::bit_rate, "Mbps", 1e6},
    {Kind::bit_rate, "kbps", 1e3},
    {Kind::rate, "/s", 1, "/s"},
    {Kind::rate, "frames/s", 1},
    {Kind::rate, "fps", 1},
    {Kind::rate, "/min", 1.0 / 60},
    {Kind::rate, "/h", 1 / kHour},
    {Kind::density, "px/m", 1, "px/m"},
    {Kind::density, "px/mm", 1e3},
    {Kind::pixels, "px", 1, "px"},
    {Kind::pixels, "pixels", 1},
    {Kind::money, "", 1, ""},
});

struct KindWords {
  Kind kind;
  std::string_view name;
  std::string_view usual;  // what a bare number is in; "-" where a bare number is refused
  std::string_view forms;
};

constexpr std::array kKinds = std::to_array<KindWords>({
    {Kind::voltage, "voltage", "V", "5.2 V, 5,2 V, 24VDC, 5200 mV"},
    {Kind::current, "current", "A", "0.31 A, 310 mA"},
    {Kind::power, "power", "W", "2.5 W, 500 mW"},
    {Kind::resistance, "resistance", "ohm", "330 ohm, 330 Ω, 10 kohm, 50 mohm"},
    {Kind::energy, "energy", "Wh", "37 Wh, 133 kJ"},
    {Kind::charge, "charge", "mAh", "10000 mAh, 10 Ah"},
    {Kind::capacitance, "capacitance", "uF", "470 µF, 470 uF"},
    {Kind::inductance, "inductance", "uH", "33 µH, 33 uH"},
    {Kind::frequency, "frequency", "Hz", "150 kHz, 50 Hz"},
    {Kind::duration, "duration", "s", "10 ms, 30 s, 5 min, 8 h, 30 days"},
    {Kind::length, "length", "m", "1.5 m, 40 cm, 3.26 mm, 6 ft"},
    {Kind::speed, "speed", "-", "120 mm/s, 1.5 m/s, 5 km/h"},
    {Kind::wire_size, "wire-size", "-", "0.5 mm2, 0,5 mm², 22 AWG, AWG 22"},
    {Kind::temperature, "temperature", "degC", "40 °C, 40 C, -10 °C"},
    {Kind::heat_resistance, "heat-resistance", "K/W", "90 K/W, 90 °C/W"},
    {Kind::ratio, "ratio", "", "85 %, 0.85"},
    {Kind::count, "count", "", "12"},
    {Kind::number, "number", "", "1.5, 1,5"},
    {Kind::angle, "angle", "deg", "68°, 68 deg"},
    {Kind::level, "level", "dBm", "-65 dBm"},
    {Kind::loss, "loss", "dB", "6 dB"},
    {Kind::bytes, "bytes", "-", "50 kB, 32 GB, 64 GiB"},
    {Kind::byte_rate, "byte-rate", "-", "500 kB/s, 10 MB/s"},
    {Kind::bit_rate, "bit-rate", "-", "20 Mbit/s, 800 kbit/s"},
    {Kind::rate, "rate", "/s", "10 /s, 10 frames/s, 1 /min"},
    {Kind::density, "density", "px/m", "125 px/m, 2 px/mm"},
    {Kind::pixels, "pixels", "px", "1600 px, 1600"},
    {Kind::money, "money", "", "10.50, 10,50"},
    {Kind::choice, "choice", "", "one of the words listed"},
    {Kind::words, "words", "", "text"},
});

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

// The number at the front of `text` and whatever follows it; nothing when no number stands there.
std::optional<NumberAndUnit> split(const std::string& text) {
  std::size_t at = 0;
  if (at < text.size() && (text[at] == '-' || text[at] == '+')) ++at;
  std::string digits;
  const auto thousands_follow = [&](std::size_t space) {
    return text[space] == ' ' && space + 3 < text.size() && is_digit(text[space + 1]) &&
           is_digit(text[space + 2]) && is_digit(text[space + 3]) &&
           (space + 4 == text.size() || !is_digit(text[space + 4]));
  };
  while (at < text.size()) {
    if (is_digit(text[at]) || text[at] == '.' || text[at] == ',') {
      digits += text[at++];
    } else if (!digits.empty() && is_digit(digits.back()) && thousands_follow(at)) {
      ++at;
    } else {
      break;
    }
  }
  if (digits.empty() || may_be_thousands(digits)) return std::nullopt;
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
  if (error != std::errc() || stop != end) return std::nullopt;
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
  const Unit* loose = nullptr;
  for (const Unit& each : kUnits) {
    if (each.kind != kind) continue;
    if (each.text == unit) return each.factor;
    if (lower(each.text) == lower(unit) && same_front(each)) loose = &each;
  }
  if (loose == nullptr) return std::nullopt;
  return loose->factor;
}

std::optional<int> gauge_of(const std::string& text) {
  std::string rest = lower(text);
  const std::size_t word = rest.find("awg");
  if (word == std::string::npos) return std::nullopt;
  rest.erase(word, 3);
  std::erase(rest, ' ');
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

base::Result<double> read_value(std::string_view text, Kind kind, const std::string& where) {
  const KindWords& words = words_of(kind);
  const std::string shown = text.size() > 40 ? std::string(text.substr(0, 37)) + "…" : std::string(text);
  const auto refuse = [&](std::string_view why) {
    return Error(ErrorCode::invalid_value, where, fmt::format("\"{}\" {}", shown, why),
                 fmt::format("write it like {}", words.forms));
  };
  const std::string clean = normalised(text);
  if (kind == Kind::wire_size) {
    if (const auto gauge = gauge_of(clean)) return awg_area(*gauge);
  }
  const auto parts = split(clean);
  if (!parts) return refuse("is not a number with a unit");
  double factor = 1;
  if (parts->unit.empty()) {
    if (words.usual == "-") return refuse("has no unit, which it needs");
    factor = factor_of(std::string(words.usual), kind).value_or(1);
  } else {
    const auto found = factor_of(parts->unit, kind);
    if (!found) {
      return refuse(fmt::format("ends in \"{}\", which is no unit of {}", parts->unit, words.name));
    }
    factor = *found;
  }
  const double value = parts->number * factor;
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
