#include "plan/field.h"

#include <algorithm>
#include <cassert>

#include <fmt/format.h>

#include "base/printable.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

constexpr std::size_t kLongestWords = 4000;

std::string place(const std::string& where, std::string_view key) {
  return fmt::format("{}: {}", where, base::printable(key));
}

std::string list_of(std::span<const Choice> choices) {
  std::string out;
  for (const Choice& choice : choices) out += fmt::format("{}{}", out.empty() ? "" : ", ", choice.key);
  return out;
}

std::string keys_of(std::span<const Field> fields) {
  std::string out;
  for (const Field& field : fields) out += fmt::format("{}{}", out.empty() ? "" : ", ", field.key);
  return out;
}

base::Result<Values::Entry> read_choice(const Field& field, const std::string& text,
                                        const std::string& where) {
  for (const Choice& choice : field.choices) {
    if (choice.key == text) return Values::Entry{&field, text, 0, false};
  }
  return Error(ErrorCode::invalid_value, place(where, field.key),
               fmt::format("\"{}\" is not one of its words", base::printable(text)),
               "choose one of: " + list_of(field.choices));
}

// A bound that stands in the field's own table is a bug when it cannot be read.
double bound(std::string_view text, Kind kind) {
  const auto value = read_value(text, kind, "bound");
  assert(value.has_value());
  return *value;
}

bool is_within(const Field& field, double value) {
  return (field.least.empty() || value >= bound(field.least, field.kind)) &&
         (field.most.empty() || value <= bound(field.most, field.kind));
}

base::Result<Values::Entry> read_words(const Field& field, const std::string& text,
                                       const std::string& where) {
  if (text.size() > kLongestWords) {
    return Error(ErrorCode::invalid_value, place(where, field.key),
                 fmt::format("has {} bytes, more than the {} that it may have", text.size(), kLongestWords),
                 "shorten it");
  }
  if (!base::is_printable(text, true)) {
    return Error(ErrorCode::invalid_value, place(where, field.key),
                 "holds a character that cannot be printed, or bytes that are no UTF-8",
                 "type it anew, or save the file that it comes from as UTF-8");
  }
  return Values::Entry{&field, text, 0, false};
}

// Why it is no value, with advice that the field itself takes.
Error not_read(const Field& field, const std::string& text, const std::string& where) {
  Error error = read_value(text, field.kind, where, forms_of(field)).error();
  // "1" may be 1 % or 100 %, but a field may end at 95 %.
  const auto percent = read_value(text + " %", Kind::ratio, where);
  if (field.kind != Kind::ratio || !percent || is_within(field, *percent * 100)) return error;
  error.remedy = is_within(field, *percent)
                     ? fmt::format("write {:.6g} %", *percent * 100)
                     : fmt::format("give a value from {} to {}", field.least, field.most);
  return error;
}

base::Result<Values::Entry> read_entry(const Field& field, const std::string& text,
                                       const std::string& where) {
  if (field.kind == Kind::choice) return read_choice(field, text, where);
  if (field.kind == Kind::words) return read_words(field, text, where);
  auto value = read_value(text, field.kind, place(where, field.key));
  if (!value) return not_read(field, text, place(where, field.key));
  const bool too_small = !field.least.empty() && *value < bound(field.least, field.kind);
  const bool too_large = !field.most.empty() && *value > bound(field.most, field.kind);
  if (too_small || too_large) {
    return Error(ErrorCode::invalid_value, place(where, field.key),
                 fmt::format("{} is {} than {}, where this sum ends", base::printable(text),
                             too_small ? "less" : "more", too_small ? field.least : field.most),
                 fmt::format("give a value from {} to {}", field.least, field.most));
  }
  return Values::Entry{&field, text, *value, false};
}

Error missing(const Field& field, const std::string& where) {
  const std::string_view such =
      field.kind == Kind::choice ? std::string_view(field.choices.front().key) : field.example;
  return Error(ErrorCode::invalid_value, place(where, field.key), fmt::format("is missing: {}", field.label),
               fmt::format("give it, such as {}", such.empty() ? forms_of(field) : such));
}

}  // namespace

bool takes(std::span<const Field> fields, std::string_view key, double value) {
  const auto at =
      std::find_if(fields.begin(), fields.end(), [&](const Field& field) { return field.key == key; });
  assert(at != fields.end());
  return is_within(*at, value);
}

std::string forms_of(const Field& field) {
  std::string out;
  std::string_view rest = accepted_forms(field.kind);
  if (field.kind == Kind::choice || field.kind == Kind::words) return std::string(rest);
  // Forms are parted by a comma and a space; a decimal comma has no space behind it.
  while (!rest.empty()) {
    const std::string_view form = rest.substr(0, rest.find(", "));
    rest.remove_prefix(std::min(form.size() + 2, rest.size()));
    const auto value = read_value(form, field.kind, "form");
    if (value && is_within(field, *value)) out += fmt::format("{}{}", out.empty() ? "" : ", ", form);
  }
  if (!out.empty()) return out;
  const std::string_view own = !field.example.empty()  ? field.example
                               : !field.preset.empty() ? field.preset
                               : !field.least.empty()  ? field.least
                                                       : accepted_forms(field.kind);
  return std::string(own);
}

const Values::Entry* Values::find(std::string_view key) const {
  const auto at =
      std::find_if(entries_.begin(), entries_.end(), [&](const Entry& e) { return e.field->key == key; });
  return at == entries_.end() ? nullptr : &*at;
}

bool Values::has(std::string_view key) const { return find(key) != nullptr; }

double Values::number(std::string_view key) const {
  const Entry* entry = find(key);
  assert(entry != nullptr);
  return entry->number;
}

double Values::of(std::string_view key, Kind kind) const {
  const Entry* entry = find(key);
  assert(entry != nullptr && entry->field->kind == kind);
  static_cast<void>(kind);
  return entry->number;
}

std::string_view Values::text(std::string_view key) const& {
  const Entry* entry = find(key);
  assert(entry != nullptr);
  return entry->text;
}

std::string_view Values::choice(std::string_view key) const& { return text(key); }

base::Result<Values> read_values(std::span<const Field> fields, std::span<const Given> given,
                                 const std::string& where, std::vector<base::Error>* all) {
  std::vector<Error> errors;
  if (given.size() > 2 * fields.size()) {
    Error error(ErrorCode::invalid_value, where,
                fmt::format("{} values are given, but it has {}", given.size(), fields.size()),
                "give each at most once");
    if (all != nullptr) *all = {error};
    return error;
  }
  for (const Given& value : given) {
    const bool known =
        std::any_of(fields.begin(), fields.end(), [&](const Field& field) { return field.key == value.key; });
    if (!known) {
      errors.emplace_back(ErrorCode::invalid_value, place(where, value.key), "there is no such value here",
                          "it knows: " + keys_of(fields));
    }
  }
  Values values;
  for (const Field& field : fields) {
    const auto is_it = [&](const Given& value) { return value.key == field.key; };
    const auto at = std::find_if(given.begin(), given.end(), is_it);
    if (at != given.end() && std::find_if(at + 1, given.end(), is_it) != given.end()) {
      errors.emplace_back(ErrorCode::invalid_value, place(where, field.key), "is given twice",
                          "give it once");
      continue;
    }
    if (at == given.end() && field.must_be_given()) {
      errors.push_back(missing(field, where));
      continue;
    }
    if (at == given.end() && field.preset.empty()) continue;
    auto entry = read_entry(field, at == given.end() ? std::string(field.preset) : at->text, where);
    if (!entry) {
      errors.push_back(entry.error());
      continue;
    }
    entry->assumed = at == given.end();
    values.entries_.push_back(std::move(*entry));
  }
  if (all != nullptr) *all = errors;
  if (!errors.empty()) return errors.front();
  return values;
}

}  // namespace rookery::plan
