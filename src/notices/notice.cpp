#include "notices/notice.h"

#include <fmt/format.h>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <ctime>

#include "archive/job.h"
#include "notices/base64.h"

namespace rookery::notices {
namespace {

namespace json = boost::json;

// What people read of an event; what cannot be read is left out rather than failing the notice.
struct Words {
  std::string cause = "something happened";
  std::string where;
  std::string start;
  std::string length;
  double peak_percent = 0;
  bool is_job = false;  // of a job: the peak is a strength
};

std::string local_text(base::WallTime at, const char* format) {
  const std::time_t seconds = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch().count();
  std::tm local{};
  ::localtime_r(&seconds, &local);
  char text[64];
  return {text, std::strftime(text, sizeof text, format, &local)};
}

std::string_view words_for(std::string_view cause, std::string_view detail) {
  if (cause == "job") return archive::words_for_step(detail);
  if (cause == "motion") return "motion";
  if (cause == "lighting") return "light switched";
  if (cause == "view") return "view changed or covered";
  return "something happened";
}

Words words_of(const Notice& notice) {
  Words words;
  boost::system::error_code failed;
  const json::value value = json::parse(notice.event, failed);
  if (failed || !value.is_object()) return words;
  const json::object& event = value.get_object();
  const auto text = [&event](const char* name) {
    const json::value* member = event.if_contains(name);
    return member != nullptr && member->is_string() ? std::string(member->get_string()) : std::string();
  };
  words.cause = words_for(text("cause"), text("detail"));
  words.is_job = text("cause") == "job";
  words.where = text("where");
  const auto start = base::parse_rfc3339(text("start"));
  const auto end = base::parse_rfc3339(text("end"));
  if (start) words.start = local_text(*start, "%H:%M:%S");
  if (start && end)
    words.length = fmt::format("{:.1f} s", std::chrono::duration<double>(*end - *start).count());
  const json::value* peak = event.if_contains("peak");
  if (peak != nullptr && peak->is_number()) words.peak_percent = 100 * peak->to_number<double>();
  return words;
}

const std::string& name_for_people(const Notice& notice) {
  return notice.title.empty() ? notice.camera : notice.title;
}

}  // namespace

std::string_view name_of(What what) {
  switch (what) {
    case What::begun:
      return "begun";
    case What::ended:
      return "ended";
    case What::pause:
      return "pause";
    case What::test:
      return "test";
  }
  return "test";
}

What what_of(std::string_view word) {
  for (const What what : {What::begun, What::ended, What::pause}) {
    if (name_of(what) == word) return what;
  }
  return What::test;
}

std::string body_of(const Notice& notice) {
  boost::system::error_code failed;
  json::value event = json::parse(notice.event, failed);
  if (failed) event = nullptr;
  json::object body{
      {"notice", notice.id}, {"what", name_of(notice.what)}, {"made_at", base::to_rfc3339(notice.made)},
      {"camera", nullptr},   {"title", notice.title},        {"event", std::move(event)},
      {"still", nullptr}};
  if (!notice.camera.empty()) body["camera"] = notice.camera;
  if (!notice.still.empty()) body["still"] = base64(notice.still);
  return json::serialize(body);
}

std::string subject_of(const Notice& notice) {
  if (notice.what == What::test) return "Rookery: a test, nothing happened";
  const Words words = words_of(notice);
  std::string subject = fmt::format("{}: {}", name_for_people(notice), words.cause);
  if (!words.start.empty()) subject += " at " + words.start;
  if (notice.what == What::pause) return subject + "; its software is asked to pause";
  if (notice.what == What::ended) return subject + ", over after " + words.length;
  if (!words.where.empty()) subject += ", " + words.where;
  return subject;
}

std::string text_of(const Notice& notice) {
  if (notice.what == What::test)
    return "Somebody asked for this at the station to see whether notices arrive. They do.\n";
  const Words words = words_of(notice);
  std::string text = subject_of(notice) + "\n\n";
  text += fmt::format("Camera: {}\n", notice.camera);
  text += fmt::format("When: {}, {}\n", local_text(notice.made, "%Y-%m-%d"), words.start);
  if (!words.where.empty()) text += fmt::format("Where: {} of the picture\n", words.where);
  if (words.peak_percent > 0 && words.is_job)
    text += fmt::format("How strong: {:.0f} of 100\n", words.peak_percent);
  else if (words.peak_percent > 0)
    text += fmt::format("How much moved: {:.1f} % of the picture\n", words.peak_percent);
  if (!words.length.empty()) text += fmt::format("Length: {}\n", words.length);
  if (!notice.still.empty())
    text +=
        "\nThe still may show people. Pass it on only as far as they, and the law where you are, allow.\n";
  return text;
}

}  // namespace rookery::notices
