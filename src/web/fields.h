// Fields: reads a JSON object strictly. What is missing, of the wrong type or unknown is told by name.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>

#include "base/result.h"
#include "base/time.h"

namespace rookery::web {

// Take every member that may stand there, then ask finish(). The first thing that is wrong is remembered and
// told by finish(); until then the takers go on with empty values. strand-bound.
class Fields {
 public:
  // `where` names what is read, for errors: "camera settings". Errors: malformed, when the text is no JSON
  // object.
  static base::Result<Fields> parse(std::string_view text, std::string where);
  Fields(boost::json::object object, std::string where)
      : object_(std::move(object)), where_(std::move(where)) {}

  bool has(std::string_view name) const { return object_.contains({name.data(), name.size()}); }

  // Members that must stand there.
  std::string text(std::string_view name);
  std::int64_t integer(std::string_view name, std::int64_t least, std::int64_t most);
  double number(std::string_view name, double least, double most);
  bool boolean(std::string_view name);
  base::WallTime time(std::string_view name);

  // Members that may be missing; null counts as a value only for the *_or_null kinds.
  std::optional<std::string> maybe_text(std::string_view name);
  std::optional<bool> maybe_boolean(std::string_view name);
  std::optional<std::int64_t> maybe_integer(std::string_view name, std::int64_t least, std::int64_t most);
  // Outer: does it stand there; inner: is it a number rather than null.
  std::optional<std::optional<std::int64_t>> maybe_integer_or_null(std::string_view name, std::int64_t least,
                                                                   std::int64_t most);
  std::optional<std::optional<std::string>> maybe_text_or_null(std::string_view name);
  std::optional<std::optional<std::set<std::string>>> maybe_names_or_null(std::string_view name);
  std::optional<std::optional<base::WallTime>> maybe_time_or_null(std::string_view name);
  std::optional<std::vector<std::string>> maybe_texts(std::string_view name);
  std::optional<std::vector<std::int64_t>> maybe_integers(std::string_view name);
  // For who reads it otherwise; null when it does not stand there.
  const boost::json::value* maybe_any(std::string_view name) & { return take(name, false); }
  // An array of objects; null when missing or of another type (then finish() fails).
  const boost::json::array* array(std::string_view name) &;

  // Remembers a fault found by the caller (a value that only the caller can judge).
  void fault(base::Error error);
  // Errors: invalid_value (with the member's name), the first fault, or a member that nobody took.
  base::Result<void> finish();

 private:
  const boost::json::value* take(std::string_view name, bool must);
  void wrong_type(std::string_view name, std::string_view wanted, const boost::json::value& value);

  boost::json::object object_;
  std::string where_;
  std::set<std::string, std::less<>> taken_;
  std::optional<base::Error> fault_;
};

}  // namespace rookery::web
