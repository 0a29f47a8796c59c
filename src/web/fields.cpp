#include "web/fields.h"

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <boost/json/value.hpp>

#include "base/printable.h"

namespace rookery::web {
namespace json = boost::json;
namespace {

std::string_view kind_word(const json::value& value) {
  switch (value.kind()) {
    case json::kind::null:
      return "null";
    case json::kind::bool_:
      return "true or false";
    case json::kind::int64:
    case json::kind::uint64:
    case json::kind::double_:
      return "a number";
    case json::kind::string:
      return "text";
    case json::kind::array:
      return "a list";
    case json::kind::object:
      return "an object";
  }
  return "something else";
}

std::optional<std::int64_t> whole_number(const json::value& value) {
  if (value.is_int64()) return value.get_int64();
  if (value.is_double()) {  // 5.0 is a whole number in JSON as well
    const double number = value.get_double();
    if (number == std::floor(number) && std::abs(number) < 9e15) return static_cast<std::int64_t>(number);
  }
  return std::nullopt;
}

std::string shown_number(const json::value& value) {
  return value.is_double() ? fmt::format("{}", value.get_double()) : json::serialize(value);
}

}  // namespace

base::Result<Fields> Fields::parse(std::string_view text, std::string where) {
  boost::system::error_code error;
  json::value value = json::parse({text.data(), text.size()}, error);
  if (error) {
    return base::Error(base::ErrorCode::malformed, std::move(where),
                       text.empty() ? "the body is empty" : "the body is not JSON: " + error.message(),
                       "Send one JSON object.");
  }
  if (!value.is_object()) {
    return base::Error(base::ErrorCode::malformed, std::move(where),
                       fmt::format("the body is {}, not an object", kind_word(value)),
                       "Send one JSON object.");
  }
  return Fields(std::move(value.get_object()), std::move(where));
}

const json::value* Fields::take(std::string_view name, bool must) {
  taken_.emplace(name);
  const json::value* value = object_.if_contains({name.data(), name.size()});
  if (value == nullptr && must) {
    fault(base::Error(base::ErrorCode::invalid_value, where_, fmt::format("\"{}\" is missing", name),
                      "Send it along."));
  }
  return value;
}

void Fields::wrong_type(std::string_view name, std::string_view wanted, const json::value& value) {
  fault(base::Error(base::ErrorCode::invalid_value, where_,
                    fmt::format("\"{}\" must be {}, but is {}", name, wanted, kind_word(value)),
                    "Send it as such."));
}

void Fields::fault(base::Error error) {
  if (!fault_) fault_ = std::move(error);
}

base::Result<void> Fields::finish() {
  if (fault_) return *fault_;
  for (const auto& member : object_) {
    const std::string_view name(member.key().data(), member.key().size());
    if (taken_.contains(name)) continue;
    std::string known;
    for (const std::string& one : taken_) known += (known.empty() ? "" : ", ") + one;
    return base::Error(base::ErrorCode::invalid_value, where_,
                       fmt::format("\"{}\" is not a member that may stand here", base::printable(name, 64)),
                       "Members are: " + known + ".");
  }
  return base::ok();
}

std::optional<std::string> Fields::maybe_text(std::string_view name) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  if (value->is_string()) return std::string(value->get_string().data(), value->get_string().size());
  wrong_type(name, "text", *value);
  return std::nullopt;
}

std::optional<std::optional<std::string>> Fields::maybe_text_or_null(std::string_view name) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  if (value->is_null()) return std::optional<std::string>();
  return maybe_text(name);
}

std::string Fields::text(std::string_view name) {
  if (take(name, true) == nullptr) return {};
  return maybe_text(name).value_or("");
}

std::optional<bool> Fields::maybe_boolean(std::string_view name) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  if (value->is_bool()) return value->get_bool();
  wrong_type(name, "true or false", *value);
  return std::nullopt;
}

bool Fields::boolean(std::string_view name) {
  if (take(name, true) == nullptr) return false;
  return maybe_boolean(name).value_or(false);
}

std::optional<std::int64_t> Fields::maybe_integer(std::string_view name, std::int64_t least,
                                                  std::int64_t most) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  const std::string range = fmt::format("a whole number from {} to {}", least, most);
  const auto number = whole_number(*value);
  if (!number && !value->is_number()) {
    wrong_type(name, range, *value);
    return std::nullopt;
  }
  if (!number || *number < least || *number > most) {
    fault(base::Error(base::ErrorCode::invalid_value, where_,
                      number ? fmt::format("\"{}\" must be {}, but is {}", name, range, *number)
                             : fmt::format("\"{}\" must be {}, but is {}", name, range, shown_number(*value)),
                      "Choose such a number."));
    return std::nullopt;
  }
  return number;
}

std::int64_t Fields::integer(std::string_view name, std::int64_t least, std::int64_t most) {
  if (take(name, true) == nullptr) return least;
  return maybe_integer(name, least, most).value_or(least);
}

std::optional<std::optional<std::int64_t>> Fields::maybe_integer_or_null(std::string_view name,
                                                                         std::int64_t least,
                                                                         std::int64_t most) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  if (value->is_null()) return std::optional<std::int64_t>{};
  return maybe_integer(name, least, most);
}

double Fields::number(std::string_view name, double least, double most) {
  const json::value* value = take(name, true);
  if (value == nullptr) return least;
  if (!value->is_number()) {
    wrong_type(name, "a number", *value);
    return least;
  }
  const double number = value->to_number<double>();
  if (!(number >= least && number <= most)) {
    fault(base::Error(base::ErrorCode::invalid_value, where_,
                      fmt::format("\"{}\" must be from {} to {}, but is {}", name, least, most, number),
                      "Choose such a number."));
    return least;
  }
  return number;
}

base::WallTime Fields::time(std::string_view name) {
  const std::string given = text(name);
  if (fault_) return {};
  auto parsed = base::parse_rfc3339(given);
  if (parsed) return *parsed;
  base::Error error = std::move(parsed).error();
  error.where = fmt::format("{}: \"{}\"", where_, name);
  fault(std::move(error));
  return {};
}

std::optional<std::optional<std::set<std::string>>> Fields::maybe_names_or_null(std::string_view name) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  if (value->is_null()) return std::optional<std::set<std::string>>{};
  std::set<std::string> names;
  if (!value->is_array()) {
    wrong_type(name, "a list of names or null", *value);
    return std::nullopt;
  }
  for (const json::value& one : value->get_array()) {
    if (!one.is_string()) {
      wrong_type(name, "a list of names or null", one);
      return std::nullopt;
    }
    names.emplace(one.get_string().data(), one.get_string().size());
  }
  return std::optional(std::move(names));
}

std::optional<std::optional<base::WallTime>> Fields::maybe_time_or_null(std::string_view name) {
  const json::value* value = take(name, false);
  if (value == nullptr) return std::nullopt;
  if (value->is_null()) return std::optional<base::WallTime>();
  return std::optional(time(name));
}

std::optional<std::vector<std::string>> Fields::maybe_texts(std::string_view name) {
  if (take(name, false) == nullptr) return std::nullopt;
  std::vector<std::string> texts;
  const json::array* values = array(name);
  if (values == nullptr) return texts;
  for (const json::value& one : *values) {
    if (one.is_string()) {
      texts.emplace_back(one.get_string().data(), one.get_string().size());
    } else {
      wrong_type(name, "a list of texts", one);
    }
  }
  return texts;
}

std::optional<std::vector<std::int64_t>> Fields::maybe_integers(std::string_view name) {
  if (take(name, false) == nullptr) return std::nullopt;
  std::vector<std::int64_t> numbers;
  const json::array* values = array(name);
  if (values == nullptr) return numbers;
  for (const json::value& one : *values) {
    if (const auto number = whole_number(one)) {
      numbers.push_back(*number);
    } else {
      wrong_type(name, "a list of whole numbers", one);
    }
  }
  return numbers;
}

const json::array* Fields::array(std::string_view name) & {
  const json::value* value = take(name, true);
  if (value == nullptr) return nullptr;
  if (value->is_array()) return &value->get_array();
  wrong_type(name, "a list", *value);
  return nullptr;
}

}  // namespace rookery::web
