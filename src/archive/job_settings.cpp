// JobSettings as JSON, and what may stand in them.
#include <cmath>
#include <mutex>

#include <fmt/format.h>
#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>

#include "archive/job.h"
#include "base/log.h"
#include "base/printable.h"

namespace rookery::archive {
namespace {

namespace json = boost::json;
using base::Error;
using base::ErrorCode;
using base::Result;
using vision::JobSign;

constexpr std::size_t kMostHours = 50;
constexpr std::chrono::hours kLongestKeep{24 * 3650};
constexpr double kMostDays_s = 31.0 * 24 * 3600;

constexpr JobSign kSigns[] = {JobSign::finished, JobSign::still,   JobSign::knocked,
                              JobSign::covered,  JobSign::unsharp, JobSign::loose};

// They are read every second: said once a run.
bool is_news(const std::string& what) {
  static std::mutex mutex;
  static std::set<std::string> told;
  const std::lock_guard lock(mutex);
  return told.insert(what).second;
}

Error invalid(std::string_view member, std::string what, std::string remedy) {
  return {ErrorCode::invalid_value, "job settings", fmt::format("\"{}\": {}", member, what),
          std::move(remedy)};
}

Result<double> number(std::string_view member, const json::value& value, double least, double most) {
  boost::system::error_code failed;
  const double given = value.is_number() ? value.to_number<double>(failed) : NAN;
  if (!failed && given >= least && given <= most) return given;
  return invalid(member, value.is_number() ? fmt::format("{} is outside its range", given) : "no number",
                 fmt::format("Give {:g} to {:g}.", least, most));
}

Result<std::set<JobSign>> signs(std::string_view member, const json::value& value, bool stop_only) {
  std::set<JobSign> found;
  const json::array* array = value.if_array();
  if (array == nullptr) return invalid(member, "no array", "Give the names of signs in [ ].");
  for (const json::value& one : *array) {
    const auto sign =
        one.is_string() ? vision::job_sign_named(std::string_view(one.get_string())) : std::nullopt;
    if (!sign || (stop_only && !is_stop_worthy(*sign))) {
      const std::string text = one.is_string() ? std::string(one.get_string()) : std::string("this");
      return invalid(
          member, fmt::format("\"{}\" is none of the signs that may stand here", base::printable(text, 40)),
          stop_only ? "Use still, loose, covered or knocked."
                    : "Use finished, still, loose, knocked, covered or unsharp.");
    }
    found.insert(*sign);
  }
  return found;
}

json::array names_of(const std::set<JobSign>& of) {
  json::array names;
  for (const JobSign sign : of) names.emplace_back(vision::name_of(sign));
  return names;
}

// The names of members that were passed over, for people: "stop.hold_s", "colour".
using PassedOver = std::set<std::string>;

// An object's members, each taken once. Others are a fault, unless there is somewhere to note them.
class Members {
 public:
  Members(std::string_view what, const json::value& value, PassedOver* passed_over)
      : what_(what), object_(value.if_object()), passed_over_(passed_over) {
    if (object_ == nullptr) failed_ = invalid(what, "no object", "Give one, as docs/api.md shows it.");
  }
  double number(std::string_view name, double least, double most) {
    const json::value* value = take(name);
    if (value == nullptr) return 0;
    auto given = archive::number(name, *value, least, most);
    if (given) return *given;
    failed_ = given.error();
    return 0;
  }
  const json::value* take(std::string_view name) {
    if (failed_) return nullptr;
    const json::value* value = object_->if_contains(json::string_view(name.data(), name.size()));
    if (value == nullptr) failed_ = invalid(what_, fmt::format("\"{}\" is missing", name), "Give it.");
    taken_.insert(name);
    return value;
  }
  Result<void> finish() const {
    if (failed_) return *failed_;
    for (const auto& member : *object_) {
      const std::string_view name(member.key().data(), member.key().size());
      if (taken_.contains(name)) continue;
      if (passed_over_ == nullptr)
        return invalid(what_, "it has members that are unknown", "Leave them out.");
      passed_over_->insert(fmt::format("{}.{}", what_, name));
    }
    return base::ok();
  }

 private:
  std::string_view what_;
  const json::object* object_;
  PassedOver* passed_over_;
  std::set<std::string_view> taken_;
  std::optional<Error> failed_;
};

Result<std::optional<vision::PictureShare>> bed_of(const json::value& value, PassedOver* passed_over) {
  if (value.is_null()) return std::optional<vision::PictureShare>{};
  Members members("bed", value, passed_over);
  vision::PictureShare bed;
  bed.x = members.number("x", 0, 1);
  bed.y = members.number("y", 0, 1);
  bed.width = members.number("w", 0.02, 1);
  bed.height = members.number("h", 0.02, 1);
  if (auto all = members.finish(); !all) return std::move(all).error();
  if (bed.x + bed.width > 1.0001 || bed.y + bed.height > 1.0001)
    return invalid("bed", "it reaches beyond the picture", "x + w and y + h are at most 1.");
  return std::optional(bed);
}

Result<std::vector<JobHours>> hours_of(const json::value& value, PassedOver* passed_over) {
  const json::array* array = value.if_array();
  if (array == nullptr || array->size() > kMostHours)
    return invalid("hours", "no array of at most 50", "Give one, as docs/api.md shows it.");
  std::vector<JobHours> hours;
  for (const json::value& one : *array) {
    Members members("hours", one, passed_over);
    JobHours span;
    span.days = static_cast<std::uint8_t>(members.number("days", 1, 127));
    span.from_min = static_cast<int>(members.number("from_min", 0, 1439));
    span.length = std::chrono::minutes(static_cast<int>(members.number("length_min", 1, 7 * 24 * 60)));
    if (auto all = members.finish(); !all) return std::move(all).error();
    hours.push_back(span);
  }
  return hours;
}

Result<JobStop> stop_of(const json::value& value, PassedOver* passed_over) {
  Members members("stop", value, passed_over);
  JobStop stop;
  stop.receiver = static_cast<std::int64_t>(members.number("receiver", 0, 1e15));
  stop.hold = std::chrono::seconds(static_cast<int>(members.number("hold_s", 10, 3600)));
  if (const json::value* named = members.take("signs")) {
    auto found = signs("signs", *named, true);
    if (!found) return found.error();
    stop.signs = std::move(*found);
  }
  if (auto all = members.finish(); !all) return std::move(all).error();
  return stop;
}

// Sets what one member says. Errors: invalid_value; also where members within it are unknown, unless
// `passed_over` takes their names.
Result<void> change(JobSettings& settings, std::string_view name, const json::value& value,
                    PassedOver* passed_over) {
  const auto set_number = [&](double least, double most, auto&& put) -> Result<void> {
    auto given = number(name, value, least, most);
    if (!given) return given.error();
    put(*given);
    return base::ok();
  };
  const auto put_to = [](auto& place, auto&& result) -> Result<void> {
    if (!result) return result.error();
    place = std::move(*result);
    return base::ok();
  };
  using std::chrono::seconds;
  if (name == "by_movement") {
    if (!value.is_bool()) return invalid(name, "neither true nor false", "Give one of them.");
    settings.by_movement = value.get_bool();
    return base::ok();
  }
  if (name == "still_every_s") {
    return set_number(1, 600, [&](double s) {
      settings.still_every = std::chrono::milliseconds(static_cast<std::int64_t>(std::lround(s * 1e3)));
    });
  }
  if (name == "still_after_s")
    return set_number(60, 86'400, [&](double s) { settings.still_after = seconds(std::lround(s)); });
  if (name == "end_after_s")
    return set_number(60, 86'400, [&](double s) { settings.end_after = seconds(std::lround(s)); });
  if (name == "expected_s") {
    if (value.is_null()) {
      settings.expected.reset();
      return base::ok();
    }
    return set_number(60, kMostDays_s, [&](double s) { settings.expected = seconds(std::lround(s)); });
  }
  if (name == "keep_stills_h")
    return set_number(1, 87'600,
                      [&](double h) { settings.keep_stills = std::chrono::hours(std::lround(h)); });
  if (name == "film_s") {
    if (value.is_null()) {
      settings.film.reset();
      return base::ok();
    }
    return set_number(1, 3600, [&](double s) { settings.film = seconds(std::lround(s)); });
  }
  if (name == "tell") return put_to(settings.tell, signs(name, value, false));
  if (name == "bed") return put_to(settings.bed, bed_of(value, passed_over));
  if (name == "hours") return put_to(settings.hours, hours_of(value, passed_over));
  if (name == "stop") return put_to(settings.stop, stop_of(value, passed_over));
  return invalid(base::printable(name, 40), "there is no such setting", "docs/api.md names those there are.");
}

}  // namespace

std::set<JobSign> JobSettings::every_sign() { return {std::begin(kSigns), std::end(kSigns)}; }

json::object job_settings_json(const JobSettings& settings) {
  json::array hours;
  for (const JobHours& span : settings.hours) {
    hours.push_back(
        json::object{{"days", span.days}, {"from_min", span.from_min}, {"length_min", span.length.count()}});
  }
  json::object out{{"by_movement", settings.by_movement},
                   {"still_every_s", static_cast<double>(settings.still_every.count()) / 1e3},
                   {"still_after_s", settings.still_after.count()},
                   {"expected_s", nullptr},
                   {"film_s", nullptr},
                   {"end_after_s", settings.end_after.count()},
                   {"bed", nullptr},
                   {"tell", names_of(settings.tell)},
                   {"hours", std::move(hours)},
                   {"keep_stills_h", settings.keep_stills.count()},
                   {"stop", json::object{{"receiver", settings.stop.receiver},
                                         {"signs", names_of(settings.stop.signs)},
                                         {"hold_s", settings.stop.hold.count()}}}};
  if (settings.film) out["film_s"] = settings.film->count();
  if (settings.expected) out["expected_s"] = settings.expected->count();
  if (settings.bed) {
    out["bed"] = json::object{{"x", settings.bed->x},
                              {"y", settings.bed->y},
                              {"w", settings.bed->width},
                              {"h", settings.bed->height}};
  }
  return out;
}

Result<JobSettings> change_job_settings(const JobSettings& now, const json::object& wanted) {
  JobSettings settings = now;
  for (const auto& [name, value] : wanted) {
    if (auto done = change(settings, std::string_view(name.data(), name.size()), value, nullptr); !done)
      return done.error();
  }
  return settings;
}

JobSettings read_job_settings(const base::CameraName& camera, const std::string& text) {
  boost::system::error_code failed;
  const json::value value = json::parse(text, failed);
  const bool readable = !failed && value.is_object();
  JobSettings settings;
  if (!readable) settings.keep_stills = kLongestKeep;
  PassedOver passed_over;
  if (!readable) passed_over.emplace("all of them");
  for (const auto& [name, member] : readable ? value.get_object() : json::object()) {
    const std::string_view key(name.data(), name.size());
    if (change(settings, key, member, &passed_over)) continue;
    passed_over.emplace(key);
    if (key == "keep_stills_h") settings.keep_stills = kLongestKeep;
  }
  const std::string names = base::printable(fmt::format("{}", fmt::join(passed_over, ", ")));
  if (!names.empty() && is_news(camera.text() + " " + names))
    base::log_warning(camera.text(), "of its job settings these cannot be read and are passed over: {}",
                      names);
  return settings;
}

}  // namespace rookery::archive
