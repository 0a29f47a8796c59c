// A change of stored job settings that leaves alone what it does not name, as what a later version wrote.
#include <algorithm>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <boost/json/value.hpp>

#include "archive/job.h"

namespace rookery::archive {
namespace {

namespace json = boost::json;

json::object laid_over(json::object before, const json::object& now) {
  for (const auto& [name, value] : now) before[name] = value;
  return before;
}

// Whether the stored span says what `now` does. By value: another program may write 480 as 480.0.
bool says(const json::object& before, const json::object& now) {
  const auto is_same = [&](const json::key_value_pair& member) {
    const json::value* stored = before.if_contains(member.key());
    return stored != nullptr && stored->is_number() &&
           stored->to_number<double>() == member.value().to_number<double>();
  };
  return std::ranges::all_of(now, is_same);
}

json::array hours_laid_over(const json::array& before, const json::array& now) {
  std::vector<const json::object*> free;
  for (const json::value& span : before) free.push_back(span.if_object());
  json::array out = now;
  std::vector<json::object*> changed;  // nullptr: it is as one of those before
  for (json::value& span : out) {
    const auto same = std::ranges::find_if(
        free, [&](const json::object* one) { return one != nullptr && says(*one, span.get_object()); });
    changed.push_back(same == free.end() ? &span.get_object() : nullptr);
    if (same == free.end()) continue;
    span = laid_over(**same, span.get_object());
    *same = nullptr;
  }
  if (before.size() != now.size()) return out;
  for (std::size_t i = 0; i < changed.size(); ++i) {
    if (changed[i] != nullptr && free[i] != nullptr) *changed[i] = laid_over(*free[i], *changed[i]);
  }
  return out;
}

json::value laid_over(const json::value* before, const json::value& now) {
  if (before == nullptr) return now;
  if (before->is_object() && now.is_object()) return laid_over(before->get_object(), now.get_object());
  // Of arrays only that of the hours holds objects.
  const auto holds_objects = [](const json::value& value) {
    return value.is_array() &&
           std::ranges::all_of(value.get_array(), [](const json::value& one) { return one.is_object(); });
  };
  if (holds_objects(*before) && holds_objects(now))
    return hours_laid_over(before->get_array(), now.get_array());
  return now;
}

}  // namespace

base::Result<StoredJobSettings> change_stored_job_settings(const base::CameraName& camera,
                                                           const std::string& text,
                                                           const json::object& change) {
  auto settings = change_job_settings(text.empty() ? JobSettings{} : read_job_settings(camera, text), change);
  if (!settings) return settings.error();
  boost::system::error_code failed;
  json::value stored = json::parse(text, failed);
  // What cannot be read at all gives way to what it was taken for.
  json::object out = !failed && stored.is_object() ? std::move(stored.get_object()) : json::object();
  for (const auto& [name, value] : job_settings_json(*settings)) {
    const json::value* before = out.if_contains(name);
    if (before != nullptr && !change.contains(name)) continue;
    json::value now = laid_over(before, value);
    out[name] = std::move(now);
  }
  return StoredJobSettings{std::move(*settings), json::serialize(out)};
}

}  // namespace rookery::archive
