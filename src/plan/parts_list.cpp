#include "plan/parts_list.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "base/printable.h"
#include "plan/unit_text.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

constexpr std::string_view kForms =
    "write each as NAME 9.80, NAME 2 x 1.10, NAME 3 m at 0.40 or NAME 4 of 100 for 3.20, with `shared:` or "
    "`per 4:` in front where one serves all or four cameras; part entries by ; or a new line";

// What was wrong with an entry; the entry itself is told beside it.
struct Wrong {
  std::string what;
};

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

// Spaces of all kinds made plain, × made x.
std::string plain(std::string_view text) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 7> kSame = {{
      {"\u00a0", " "},
      {"\u202f", " "},
      {"\u2009", " "},
      {"\u00d7", "x"},
      {"\t", " "},
      {"\r", " "},
      {"\u2212", "-"},
  }};
  std::string out(text);
  for (const auto& [from, to] : kSame) {
    for (std::size_t at = out.find(from); at != std::string::npos; at = out.find(from, at + to.size()))
      out.replace(at, from.size(), to);
  }
  return out;
}

std::vector<std::string> words_in(std::string_view text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t begin = text.find_first_not_of(' ', at);
    if (begin == std::string_view::npos) break;
    at = std::min(text.find(' ', begin), text.size());
    out.emplace_back(text.substr(begin, at - begin));
  }
  return out;
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : " ") + word;
  return out;
}

bool looks_like_number(std::string_view word) {
  return word.find_first_of("0123456789") != std::string_view::npos &&
         word.find_first_not_of("0123456789.,") == std::string_view::npos;
}

// A number as read_value takes it, so that a comma is read alike everywhere.
std::optional<double> number_in(std::string_view word) {
  const auto value = looks_like_number(word) ? read_value(word, Kind::number, "") : base::Result<double>(NAN);
  if (!value || !std::isfinite(*value)) return std::nullopt;
  return *value;
}

constexpr std::array<std::string_view, 4> kSigns = {"€", "$", "£", "¥"};

bool is_sign(std::string_view word) { return std::find(kSigns.begin(), kSigns.end(), word) != kSigns.end(); }

bool is_currency(std::string_view word) {
  if (is_sign(word)) return true;
  return word.size() == 3 &&
         std::all_of(word.begin(), word.end(), [](char c) { return c >= 'A' && c <= 'Z'; });
}

// Takes a sign off the front or back of `word`; returns it, or nothing.
std::string take_sign(std::string& word) {
  for (const std::string_view sign : kSigns) {
    if (word.size() <= sign.size()) continue;
    if (word.starts_with(sign)) {
      word.erase(0, sign.size());
      return std::string(sign);
    }
    if (word.ends_with(sign)) {
      word.erase(word.size() - sign.size());
      return std::string(sign);
    }
  }
  const std::size_t letters = word.size() < 3 ? 0 : word.size() - 3;
  if (letters > 0 && is_currency(word.substr(letters)) && looks_like_number(word.substr(0, letters))) {
    std::string out = word.substr(letters);
    word.erase(letters);
    return out;
  }
  return {};
}

// "2x1.10", "x1.10" and "2x 1.10" are "2 x 1.10"; "4x6" before a price is a name.
void part_the_x(std::vector<std::string>& words) {
  const std::string last = words.back();
  const std::size_t x = last.find_first_of("xX*");
  if (x != std::string::npos && x + 1 < last.size()) {
    const std::string before = last.substr(0, x);
    std::string after = last.substr(x + 1);
    std::string bare = after;
    take_sign(bare);
    if (!looks_like_number(bare) || (x > 0 && !looks_like_number(before))) return;
    words.pop_back();
    if (x > 0) words.push_back(before);
    words.emplace_back("x");
    words.push_back(after);
  } else if (words.size() > 1) {
    std::string& word = words[words.size() - 2];
    const char end = word.back();
    if (word.size() < 2 || (end != 'x' && end != 'X' && end != '*')) return;
    if (!looks_like_number(word.substr(0, word.size() - 1))) return;
    word.pop_back();
    words.insert(words.end() - 1, "x");
  }
}

std::string taken_back(std::vector<std::string>& words) {
  std::string out = words.back();
  words.pop_back();
  return out;
}

struct Price {
  double value = 0;
  std::string money;
};

std::optional<Wrong> take_price(std::vector<std::string>& words, Price& price) {
  if (words.size() > 1 && is_currency(words.back())) price.money = taken_back(words);
  part_the_x(words);
  std::string word = taken_back(words);
  if (price.money.empty()) price.money = take_sign(word);
  if (word.starts_with('-') && looks_like_number(word.substr(1))) {
    return Wrong{fmt::format("its price {} is less than nothing: take it off the part's own price", word)};
  }
  if (!looks_like_number(word)) return Wrong{"there is no price at its end"};
  const auto value = number_in(word);
  if (!value) {
    return Wrong{
        fmt::format("\"{}\" cannot be read as a price: write 1500 or 1.50, without a mark between "
                    "thousands",
                    word)};
  }
  if (*value > 1e9) return Wrong{fmt::format("its price {} is beyond all measure", word)};
  price.value = *value;
  // Three letters in front would be the name's last word as often: "socket BNC 2.40".
  if (price.money.empty() && !words.empty() && is_sign(words.back())) price.money = taken_back(words);
  return std::nullopt;
}

std::optional<Wrong> take_quantity(std::vector<std::string>& words, std::string_view before,
                                   double& quantity) {
  const std::string word = words.empty() ? std::string() : taken_back(words);
  const auto value = number_in(word);
  if (!value) return Wrong{fmt::format("there is no number before \"{}\"", before)};
  if (*value <= 0 || *value > 1e6) {
    return Wrong{fmt::format("\"{}\" is no quantity: give more than 0 and at most a million", word)};
  }
  quantity = *value;
  return std::nullopt;
}

// "3 m at", "3m at", "3 at": number and unit before the word.
std::optional<Wrong> take_measure(std::vector<std::string>& words, std::string_view before, Part& part) {
  if (!words.empty() && !looks_like_number(words.back())) {
    std::string word = taken_back(words);
    const std::size_t letters = word.find_first_not_of("0123456789.,");
    part.unit = word.substr(letters);
    if (letters > 0) words.push_back(word.substr(0, letters));
  }
  return take_quantity(words, before, part.quantity);
}

std::optional<Wrong> take_pack(std::vector<std::string>& words, Part& part) {
  if (auto wrong = take_quantity(words, "for", part.pack)) return wrong;
  if (words.empty() || lower(taken_back(words)) != "of") {
    return Wrong{"\"for\" wants \"N of M\" before it: each camera takes N of a pack of M"};
  }
  if (auto wrong = take_quantity(words, "of", part.quantity)) return wrong;
  return std::nullopt;
}

bool is_unit(std::string_view word) {
  static constexpr std::array<std::string_view, 12> kUnits = {"m",     "cm",  "mm",     "ft", "g", "kg",
                                                              "piece", "pcs", "pieces", "h",  "l", "ml"};
  return std::find(kUnits.begin(), kUnits.end(), word) != kUnits.end();
}

// What stands between the name and the price.
std::optional<Wrong> take_how_many(std::vector<std::string>& words, Part& part) {
  if (words.empty()) return std::nullopt;
  const std::string last = lower(words.back());
  const bool after_number = words.size() > 1 && looks_like_number(words[words.size() - 2]);
  if (last == "x" || last == "*" || ((last == "a" || last == "à" || last == "each") && after_number)) {
    words.pop_back();
    return take_quantity(words, last, part.quantity);
  }
  if (last == "at" || last == "@") {
    words.pop_back();
    return take_measure(words, last, part);
  }
  if (last == "for") {
    words.pop_back();
    return take_pack(words, part);
  }
  // A number right before the price may be how many, part of the name, or thousands.
  if (looks_like_number(last)) {
    return Wrong{
        fmt::format("it is not clear what \"{}\" before the price is: write \"{} x\" for how many, or "
                    "\"1 x\" before the price when it belongs to the name",
                    words.back(), words.back())};
  }
  if (is_unit(last) && after_number) {
    return Wrong{fmt::format("write \"at\" between \"{}\" and the price", words.back())};
  }
  return std::nullopt;
}

// "2 x case 1.10", "2x case 1.10": how many, in front.
std::optional<Wrong> take_front_quantity(std::vector<std::string>& words, Part& part) {
  if (words.empty()) return std::nullopt;
  std::string first = words.front();
  const bool glued = first.size() > 1 && (first.back() == 'x' || first.back() == 'X') &&
                     looks_like_number(first.substr(0, first.size() - 1));
  const bool apart = words.size() > 1 && looks_like_number(first) && lower(words[1]) == "x";
  if (!glued && !apart) return std::nullopt;
  if (part.quantity != 1 || !part.unit.empty() || part.pack > 0) {
    return Wrong{"it says twice how many: in front of its name and behind it"};
  }
  if (glued) first.pop_back();
  words.erase(words.begin(), words.begin() + (apart ? 2 : 1));
  std::vector<std::string> number = {first};
  return take_quantity(number, "x", part.quantity);
}

// "shared", "each", "per 4", "per 4 cameras".
std::optional<Wrong> read_front(std::string_view front, Part& part) {
  const auto words = words_in(lower(front));
  if (words.size() == 1 && words[0] == "shared") {
    part.cameras = 0;
    return std::nullopt;
  }
  if (words.size() == 1 && words[0] == "each") return std::nullopt;
  const bool per =
      (words.size() == 2 || (words.size() == 3 && words[2].starts_with("camera"))) && words[0] == "per";
  if (!per) {
    return Wrong{
        fmt::format("\"{}:\" is none of `shared:`, `per 4:` and `each:`; leave a colon out of a name",
                    joined(words_in(front)))};
  }
  const auto cameras = number_in(words[1]);
  if (!cameras || *cameras < 1 || *cameras > 10000 || *cameras != std::floor(*cameras)) {
    return Wrong{fmt::format("\"{}\" is no number of cameras: give a whole one from 1", words[1])};
  }
  part.cameras = static_cast<int>(*cameras);
  return std::nullopt;
}

std::optional<Wrong> read_entry(std::string_view entry, Part& part, std::string& money) {
  const std::size_t colon = entry.find(':');
  if (colon != std::string_view::npos) {
    if (auto wrong = read_front(entry.substr(0, colon), part)) return wrong;
    entry = entry.substr(colon + 1);
  }
  std::vector<std::string> words = words_in(entry);
  if (words.empty()) return Wrong{"nothing follows its colon"};
  Price price;
  // "0.40/m": of a metre.
  std::string per_unit;
  const std::size_t slash = words.back().find('/');
  if (slash != std::string::npos && slash > 0 && words.back().find_first_of("0123456789") < slash) {
    per_unit = words.back().substr(slash + 1);
    words.back().erase(slash);
  }
  if (auto wrong = take_price(words, price)) return wrong;
  part.price = price.value;
  if (auto wrong = take_how_many(words, part)) return wrong;
  if (auto wrong = take_front_quantity(words, part)) return wrong;
  if (!per_unit.empty() && per_unit != part.unit) {
    return Wrong{
        fmt::format("its price is for one {}, but its quantity is not given in {}", per_unit, per_unit)};
  }
  part.name = joined(words);
  if (part.name.empty()) return Wrong{"it has no name"};
  if (!price.money.empty() && !money.empty() && money != price.money) {
    return Wrong{
        fmt::format("it counts in {}, an entry before it in {}: give all prices in one", price.money, money)};
  }
  if (!price.money.empty()) money = price.money;
  return std::nullopt;
}

std::vector<std::string> entries_in(std::string_view text) {
  std::vector<std::string> out;
  std::string line;
  std::string entry;
  const auto take = [&] {
    if (entry.find_first_not_of(' ') != std::string::npos) out.push_back(entry);
    entry.clear();
  };
  bool comment = false;
  for (const char c : plain(text)) {
    if (c == '\n') {
      comment = false;
      take();
    } else if (c == '#') {
      comment = true;
    } else if (!comment && c == ';') {
      take();
    } else if (!comment) {
      entry += c;
    }
  }
  take();
  return out;
}

}  // namespace

base::Result<PartsList> read_parts(std::string_view text, const std::string& where) {
  const auto refuse = [&](std::string detail) {
    return Error(ErrorCode::invalid_value, where, std::move(detail), std::string(kForms));
  };
  if (!base::is_printable(text, true)) return refuse("holds a character that cannot be printed");
  PartsList list;
  std::string wrongs;
  int wrong_entries = 0;
  const auto entries = entries_in(text);
  for (std::size_t i = 0; i < entries.size(); ++i) {
    Part part;
    const auto wrong = read_entry(entries[i], part, list.money);
    if (!wrong) {
      list.parts.push_back(std::move(part));
    } else if (++wrong_entries <= 5) {
      wrongs +=
          fmt::format("{}entry {} \"{}\": {}", wrongs.empty() ? "" : "; ", i + 1,
                      base::printable(joined(words_in(entries[i])), 50), base::printable(wrong->what, 300));
    }
  }
  if (wrong_entries > 5) wrongs += fmt::format("; and {} more", wrong_entries - 5);
  if (wrong_entries > 0) return refuse(std::move(wrongs));
  if (list.parts.empty()) return refuse("holds no entry");
  return list;
}

PartCost cost_of(const Part& part, const Fleet& fleet) {
  double lots = 1;
  if (part.cameras == 1) lots = fleet.cameras + fleet.spares;
  if (part.cameras > 1) lots = std::ceil(static_cast<double>(fleet.cameras) / part.cameras);
  PartCost out;
  out.needed = part.quantity * lots;
  // A sum of tenths that comes to a whole pack is one pack, not two.
  const double packs = part.pack > 0 ? std::ceil(out.needed / part.pack - 1e-9) : 0;
  out.bought = part.pack > 0 ? packs * part.pack : out.needed;
  out.cost = part.pack > 0 ? packs * part.price : out.needed * part.price;
  out.left_over = std::max(0.0, out.cost - out.needed * part.each());
  return out;
}

}  // namespace rookery::plan
