// rookery job settings NAME [--by-movement on|off] [--still-every TIME] …
#include <fmt/format.h>

#include <boost/json/array.hpp>

#include "archive/job_store.h"
#include "cli/job_settings_command.h"
#include "cli/notice_names.h"
#include "notices/json.h"
#include "notices/pause_receiver.h"
#include "plan/unit_text.h"

namespace rookery::cli {

using archive::JobSettings;
using base::Error;
using base::ErrorCode;
using base::Result;
namespace json = boost::json;

namespace {

// What was given; what was not given stays as it is.
struct SettingsArgs {
  std::string camera;
  std::optional<std::string> by_movement, still_every, still_after, expected, end_after, keep_stills, bed;
  std::vector<std::string> tell, hours, pause_on;
  std::optional<std::string> film;
  std::optional<std::string> pause_receiver, pause_after;
};

const char* const kSigns[] = {"finished", "still", "knocked", "covered", "unsharp", "loose"};

Result<double> seconds_of(const std::string& text, const char* option) {
  return plan::read_value(text, plan::Kind::duration, option, "30 s, 10 min, 4 h, 2 d");
}

// "monday,friday 08:00 10h" or "08:00 10h": every day.
Result<json::object> hours_of(const std::string& text) {
  const auto wrong = [&] {
    return Error(ErrorCode::invalid_value, "--hours", fmt::format("\"{}\" is no span of hours", text),
                 "Give days if not all, a time and a length: \"monday,friday 08:00 10 h\".");
  };
  std::string rest = text;
  std::uint8_t days = 0x7f;
  auto space = rest.find(' ');
  if (space == std::string::npos) return wrong();
  if (rest.front() < '0' || rest.front() > '9') {
    std::vector<std::string> words;
    std::string word;
    for (const char c : rest.substr(0, space) + ",") {
      if (c != ',') {
        word += c;
        continue;
      }
      words.push_back(std::exchange(word, {}));
    }
    auto read = notices::days_of(words);
    if (!read) return read.error();
    days = *read;
    rest.erase(0, space + 1);
    space = rest.find(' ');
    if (space == std::string::npos) return wrong();
  }
  auto from = notices::minutes_of(rest.substr(0, space));
  if (!from) return from.error();
  auto length = seconds_of(rest.substr(space + 1), "--hours");
  if (!length) return length.error();
  return json::object{{"days", days}, {"from_min", *from}, {"length_min", std::llround(*length / 60)}};
}

// "0.2,0.3,0.5,0.4", or "found".
Result<json::value> bed_of(const std::string& text) {
  if (text == "found") return json::value(nullptr);
  double x = 0, y = 0, w = 0, h = 0;
  char more = 0;
  // NOLINTNEXTLINE(cert-err34-c): the count of what was read is asked
  if (std::sscanf(text.c_str(), "%lf,%lf,%lf,%lf%c", &x, &y, &w, &h, &more) != 4)
    return Error(ErrorCode::invalid_value, "--bed", fmt::format("\"{}\" is no part of a picture", text),
                 "Give left, top, width and height as shares of it, 0.2,0.3,0.5,0.4, or found.");
  return json::value(json::object{{"x", x}, {"y", y}, {"w", w}, {"h", h}});
}

json::array words_of(const std::vector<std::string>& words) {
  json::array array;
  for (const std::string& word : words) {
    if (word != "none") array.emplace_back(word);
  }
  return array;
}

Result<void> put_times(const SettingsArgs& args, json::object& change) {
  for (const auto& [text, name, option] : {std::tuple{&args.still_every, "still_every_s", "--still-every"},
                                           std::tuple{&args.still_after, "still_after_s", "--still-after"},
                                           std::tuple{&args.expected, "expected_s", "--length"},
                                           std::tuple{&args.end_after, "end_after_s", "--end-after"}}) {
    if (!*text) continue;
    if (text == &args.expected && **text == "unknown") {
      change[name] = nullptr;
      continue;
    }
    auto seconds = seconds_of(**text, option);
    if (!seconds) return seconds.error();
    change[name] = *seconds;
  }
  if (!args.keep_stills) return base::ok();
  auto seconds = seconds_of(*args.keep_stills, "--keep-stills");
  if (!seconds) return seconds.error();
  change["keep_stills_h"] = *seconds / 3600;
  return base::ok();
}

Result<void> put_pause(const SettingsArgs& args, const JobSettings& now, archive::Catalog& catalog,
                       json::object& change) {
  if (!args.pause_receiver && !args.pause_after && args.pause_on.empty()) return base::ok();
  json::object stop = archive::job_settings_json(now).at("stop").as_object();
  if (args.pause_receiver) {
    stop["receiver"] = 0;
    if (*args.pause_receiver != "none") {
      auto receiver = receiver_named(notices::NoticeStore(catalog), *args.pause_receiver);
      if (!receiver) return receiver.error();
      stop["receiver"] = receiver->id;
    }
  }
  if (!args.pause_on.empty()) stop["signs"] = words_of(args.pause_on);
  if (args.pause_after) {
    auto seconds = seconds_of(*args.pause_after, "--pause-after");
    if (!seconds) return seconds.error();
    stop["hold_s"] = *seconds;
  }
  change["stop"] = std::move(stop);
  return base::ok();
}

Result<json::object> change_of(const SettingsArgs& args, const JobSettings& now, archive::Catalog& catalog) {
  json::object change;
  if (args.film) {
    change["film_s"] = nullptr;
    if (*args.film != "none") {
      auto seconds = seconds_of(*args.film, "--film");
      if (!seconds) return seconds.error();
      change["film_s"] = *seconds;
    }
  }
  if (args.by_movement) change["by_movement"] = *args.by_movement == "on";
  if (auto put = put_times(args, change); !put) return put.error();
  if (args.bed) {
    auto bed = bed_of(*args.bed);
    if (!bed) return bed.error();
    change["bed"] = *bed;
  }
  if (!args.tell.empty()) change["tell"] = words_of(args.tell);
  if (!args.hours.empty()) {
    json::array hours;
    for (const std::string& text : args.hours) {
      if (text == "none") continue;
      auto one = hours_of(text);
      if (!one) return one.error();
      hours.push_back(std::move(*one));
    }
    change["hours"] = std::move(hours);
  }
  if (auto put = put_pause(args, now, catalog, change); !put) return put.error();
  return change;
}

// fault: what keeps a wish to pause from arriving.
std::string text_of(const std::string& camera, const JobSettings& settings,
                    const std::optional<std::string>& fault) {
  const auto time = [](auto length) {
    return plan::show_value(std::chrono::duration<double>(length).count(), plan::Kind::duration, 3);
  };
  std::string text = fmt::format("{}: jobs begin {}; a still every {}", camera,
                                 settings.by_movement ? "when the machine does" : "by hand, or by a hook",
                                 time(settings.still_every));
  text += fmt::format("\n  nothing moves for {}: told; at rest for {} when finished: ended",
                      time(settings.still_after), time(settings.end_after));
  text += settings.film ? fmt::format("\n  at the end a film of {} is made", time(*settings.film))
                        : std::string("\n  no film is made at the end");
  if (settings.expected) text += fmt::format("\n  a job takes {}", time(*settings.expected));
  if (settings.bed)
    text += fmt::format("\n  the machine works at {:g},{:g},{:g},{:g} of the picture", settings.bed->x,
                        settings.bed->y, settings.bed->width, settings.bed->height);
  for (const archive::JobHours& hours : settings.hours) {
    std::string days;
    for (const json::value& day : notices::days_json(hours.days))
      days += (days.empty() ? "" : ", ") + std::string(day.get_string());
    text += fmt::format("\n  by the clock: {} at {:02}:{:02} for {}", hours.days == 0x7f ? "every day" : days,
                        hours.from_min / 60, hours.from_min % 60, time(hours.length));
  }
  text += fmt::format("\n  stills that nothing else recorded are kept for {}", time(settings.keep_stills));
  if (settings.stop.receiver != 0)
    text += fmt::format("\n  a pause is asked for after {} and a second look: {} sign(s)",
                        time(settings.stop.hold), settings.stop.signs.size());
  if (fault) text += fmt::format("\n  NOBODY HEARS OF IT: {}; name another with --pause-receiver", *fault);
  return text;
}

Result<void> run(const SettingsArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  archive::JobStore store(**catalog);
  auto settings = store.settings(*camera);
  if (!settings) return settings.error();
  auto change = change_of(args, *settings, **catalog);
  if (!change) return change.error();
  if (!change->empty()) {
    const auto possible = archive::change_job_settings({}, *change);
    if (!possible) return possible.error();
    if (change->contains("stop")) {
      if (auto there = check_pause_receiver(notices::NoticeStore(**catalog), possible->stop); !there)
        return there;
    }
    settings = store.change_settings(*camera, *change);
    if (!settings) return settings.error();
  }
  auto fault = pause_fault(notices::NoticeStore(**catalog), settings->stop);
  if (!fault) return fault.error();
  context.print(job_settings_json(*settings), text_of(camera->text(), *settings, *fault));
  return base::ok();
}

}  // namespace

void add_job_settings_command(CLI::App& job, Context& context) {
  CLI::App* command =
      job.add_subcommand("settings", "How a camera's jobs go: shows it, after changing what is named");
  auto args = std::make_shared<SettingsArgs>();
  command->add_option("CAMERA", args->camera, "The camera")->required();
  command->add_option("--by-movement", args->by_movement, "on: a job begins when the machine begins to move")
      ->check(CLI::IsMember({"on", "off"}));
  command->add_option("--still-every", args->still_every, "From one still to the next, 1 s to 10 min");
  command->add_option("--still-after", args->still_after, "Nothing moves for so long: it is told");
  command->add_option("--length", args->expected, "How long its jobs take; unknown for none");
  command->add_option("--end-after", args->end_after,
                      "A job that looks finished for so long is ended, if nobody ends it");
  command->add_option("--bed", args->bed,
                      "Where the machine works: left,top,width,height as shares of the picture; found: the "
                      "station looks for itself");
  command->add_option("--film", args->film,
                      "Length of the lapse that is made when a job ends, 30 s; none: none is made");
  command->add_option("--tell", args->tell, "What is told; may stand several times; none: nothing")
      ->check(CLI::IsMember([] {
        std::vector<std::string> words(std::begin(kSigns), std::end(kSigns));
        words.emplace_back("none");
        return words;
      }()));
  command->add_option(
      "--hours", args->hours,
      "Begin a job by the clock: \"monday,friday 08:00 10 h\"; may stand several times; none");
  command->add_option("--keep-stills", args->keep_stills,
                      "How long a job's stills are kept that nothing else recorded");
  command->add_option("--pause-receiver", args->pause_receiver,
                      "Who is asked to pause the machine: a receiver of notices; none");
  command->add_option("--pause-on", args->pause_on, "At which signs; may stand several times; none")
      ->check(CLI::IsMember({"still", "loose", "covered", "knocked", "none"}));
  command->add_option("--pause-after", args->pause_after,
                      "So long it must stay so, before the second look; 10 s to 1 h");
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = run(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
