// rookery replay FILE|NAME [--from TIME] [--to TIME] [--mask MASK] [--sensitivity 1..5] [--rate N]
#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "archive/camera_store.h"
#include "archive/film_reader.h"
#include "archive/recorded_pictures.h"
#include "base/file.h"
#include "cli/cli.h"
#include "cli/stop_signal.h"
#include "station/replay.h"
#include "vision/picture_share.h"

namespace rookery::cli {
namespace {

using base::Error;
using base::ErrorCode;
using base::Microseconds;
using base::WallTime;

constexpr std::chrono::hours kUsualSpan{24};
constexpr std::size_t kMostMask_bytes = 2 << 20;  // 512×512 cells in turn looked at and ignored: 524 kB

struct ReplayArgs {
  std::string what;
  std::string from;
  std::string to;
  std::optional<std::string> mask;  // not given: the camera's own, as is the sensitivity
  std::optional<int> sensitivity;
  double rate = station::ReplaySettings::kUsualRate;
  double frames_per_s = archive::FilmSpan::kUsualRate;
};

double seconds(Microseconds time) { return std::chrono::duration<double>(time).count(); }
double rounded(double value, double steps) { return std::round(value * steps) / steps; }

bool is_file(const std::string& what) {
  std::error_code failed;
  return what.find_first_of("/.") != std::string::npos ||
         (std::filesystem::exists(what, failed) && !std::filesystem::is_directory(what, failed));
}

// "90", "90.5", "1:30", "1:02:03.5": since the first picture.
base::Result<Microseconds> parse_film_time(const std::string& text) {
  const Error wrong(ErrorCode::invalid_value, "replay", fmt::format("\"{}\" is no time in a film", text),
                    "Give seconds from its first picture, or minutes and seconds: 90, 1:30, 1:02:03.5.");
  double sum = 0;
  const char* at = text.data();
  const char* end = at + text.size();
  for (int parts = 1;; ++parts) {
    double value = 0;
    const auto read = std::from_chars(at, end, value, std::chars_format::fixed);
    if (read.ec != std::errc() || !(value >= 0) || value > 1e9 || parts > 3) return wrong;
    if (parts > 1 && value >= 60) return wrong;
    sum = sum * 60 + value;
    if (read.ptr == end) break;
    if (*read.ptr != ':' || value != std::floor(value)) return wrong;
    at = read.ptr + 1;
  }
  return Microseconds{std::llround(sum * 1e6)};
}

base::Result<vision::Mask> read_mask(const std::string& given) {
  std::error_code failed;
  if (given.empty() || !std::filesystem::exists(given, failed)) {
    auto mask = vision::Mask::parse(given);
    if (mask) return mask;
    return Error(mask.error().code, mask.error().where, mask.error().detail,
                 "Give a mask's text, or a file with it; there is no file of this name.");
  }
  auto text = base::read_file(given, kMostMask_bytes);
  if (!text) return std::move(text).error();
  while (!text->empty() && std::isspace(static_cast<unsigned char>(text->back())) != 0) text->pop_back();
  return vision::Mask::parse(*text);
}

// Where pictures come from; `recording` is set for a camera's.
struct Opened {
  std::unique_ptr<archive::Catalog> catalog;
  std::unique_ptr<archive::PictureSource> source;
  const archive::RecordedPictures* recording = nullptr;
  vision::Sensitivity sensitivity;  // the camera's own
  vision::Mask mask;
};

Error ends_before(const ReplayArgs& args) {
  return {
      ErrorCode::invalid_value, "replay",
      fmt::format("the end {} is not after the beginning {}", args.to.empty() ? "(now)" : args.to, args.from),
      "swap them"};
}

base::Result<Opened> open_film(const ReplayArgs& args) {
  archive::FilmSpan span;
  span.frames_per_s = args.frames_per_s;
  if (!args.from.empty()) {
    auto from = parse_film_time(args.from);
    if (!from) return from.error();
    span.from = *from;
  }
  if (!args.to.empty()) {
    auto to = parse_film_time(args.to);
    if (!to) return to.error();
    if (*to <= span.from) return ends_before(args);
    span.to = *to;
  }
  auto film = archive::FilmReader::open(args.what, span, [] { return !asked_to_stop(); });
  if (!film) return film.error();
  Opened opened;
  opened.source = std::move(*film);
  return opened;
}

base::Result<Opened> open_recording(const ReplayArgs& args, const Context& context) {
  auto camera = base::CameraName::parse(args.what);
  if (!camera) {
    return Error(ErrorCode::not_found, "replay",
                 fmt::format("there is no file \"{}\", and no camera is called so", args.what),
                 "Give a file of motion JPEG or the name of a camera.");
  }
  WallTime to = base::SystemClock().wall();
  if (!args.to.empty()) {
    auto parsed = base::parse_rfc3339(args.to);
    if (!parsed) return parsed.error();
    to = *parsed;
  }
  WallTime from = to - kUsualSpan;
  if (!args.from.empty()) {
    auto parsed = base::parse_rfc3339(args.from);
    if (!parsed) return parsed.error();
    from = *parsed;
  }
  if (to <= from) return ends_before(args);
  Opened opened;
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  opened.catalog = std::move(*catalog);
  // A camera that is gone has recordings, but no settings.
  if (auto settings = archive::CameraStore(*opened.catalog).find(*camera)) {
    opened.sensitivity = settings->sensitivity;
    opened.mask = std::move(settings->mask);
  } else if (settings.error().code != ErrorCode::not_found) {
    return settings.error();
  }
  auto recording = std::make_unique<archive::RecordedPictures>(*opened.catalog, *camera, from, to);
  opened.recording = recording.get();
  opened.source = std::move(recording);
  return opened;
}

void print_event(Context& context, const vision::MotionEvent& event, const Opened& opened) {
  const auto share = vision::share_of(event.box, event.grid_width, event.grid_height);
  boost::json::object object = {
      {"start_s", rounded(seconds(event.start), 1e3)},
      {"end_s", rounded(seconds(event.end), 1e3)},
      {"best_s", rounded(seconds(event.best_at), 1e3)},
      {"peak", rounded(event.peak, 1e4)},
      {"region",
       {{"x", rounded(share.x, 1e4)},
        {"y", rounded(share.y, 1e4)},
        {"w", rounded(share.width, 1e4)},
        {"h", rounded(share.height, 1e4)}}},
      {"cause", vision::name_of(event.cause)},
  };
  std::string when = fmt::format("{:.1f} s to {:.1f} s", seconds(event.start), seconds(event.end));
  if (opened.recording != nullptr) {
    const WallTime first = opened.recording->first();
    const std::string start = base::to_rfc3339(first + event.start);
    const std::string end = base::to_rfc3339(first + event.end);
    object["start"] = start;
    object["end"] = end;
    object["best"] = base::to_rfc3339(first + event.best_at);
    when = fmt::format("{} to {}", start, end);
  }
  context.end_progress();
  context.print(object,
                fmt::format("{}, {:.1f} s, {:.1f} %, {}, {}", when, seconds(event.end - event.start),
                            100 * event.peak, vision::words_for(share), vision::name_of(event.cause)));
}

std::string count_of(std::uint64_t number, std::string_view what) {
  return fmt::format("{} {}{}", number, what, number == 1 ? "" : "s");
}

// On `err`, so that what is on `out` is events alone.
void sum_up(Context& context, const station::ReplayReport& report, const archive::PictureSource& source,
            double took_s) {
  context.err << fmt::format("{} of {:.1f} s, {} looked at; {}; {:.0f}× of real time.\n",
                             count_of(report.pictures, "picture"), seconds(report.covered), report.looked_at,
                             count_of(report.events, "event"),
                             seconds(report.covered) / std::max(took_s, 1e-3));
  if (report.bad > 0) {
    context.err << fmt::format("Left out: {} damaged, the first {}\n", count_of(report.bad, "picture"),
                               report.first_bad);
  }
  if (report.earlier > 0) {
    context.err << fmt::format("Left out: {} whose time had been before (a clock was set back)\n",
                               count_of(report.earlier, "picture"));
  }
  if (const std::string remark = source.remark(); !remark.empty()) context.err << "Note: " << remark << '\n';
}

base::Result<void> replay(const ReplayArgs& args, Context& context) {
  station::ReplaySettings settings;
  settings.rate = args.rate;
  if (args.mask) {
    auto mask = read_mask(*args.mask);
    if (!mask) return mask.error();
    settings.mask = std::move(*mask);
  }
  stop_on_signals();
  auto opened = is_file(args.what) ? open_film(args) : open_recording(args, context);
  if (!opened) return opened.error();
  if (!args.mask) settings.mask = std::move(opened->mask);
  settings.sensitivity = args.sensitivity ? vision::Sensitivity{*args.sensitivity} : opened->sensitivity;
  const base::SystemClock clock;
  const base::MonoTime began = clock.mono();
  auto report = station::replay(
      *opened->source, settings,
      [&](const vision::MotionEvent& event) { print_event(context, event, *opened); },
      [&] {
        context.show_progress("replaying", opened->source->passed());
        return !asked_to_stop();
      });
  if (!report) return report.error();
  context.end_progress();
  sum_up(context, *report, *opened->source, std::chrono::duration<double>(clock.mono() - began).count());
  return base::ok();
}

}  // namespace

void add_replay_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "replay", "Look for motion in what is recorded, or in a film, and print the events it makes");
  auto args = std::make_shared<ReplayArgs>();
  command
      ->add_option("FILE|NAME", args->what,
                   "A film of motion JPEG (AVI, Matroska, MP4, a dumped stream), or the name of a camera. "
                   "What holds a / or a dot, or is there, is a file")
      ->required();
  command->add_option("--from", args->from,
                      "Start: 2026-03-01T12:00:00Z, 24 h before the end unless given; in a file seconds from "
                      "its first picture, or 1:30");
  command->add_option("--to", args->to, "End, likewise; now, or the end of the file, unless given");
  command->add_option(
      "--mask", args->mask,
      "What motion ignores: a mask's text (80x60@640x480: and its runs), or a file with it; \"\" "
      "for nothing. Unless given, the camera's own");
  command
      ->add_option("--sensitivity", args->sensitivity,
                   "1, coarse, to 5, fine. Unless given, the camera's own; 3 for a file")
      ->check(CLI::Range(vision::Sensitivity::kCoarsest, vision::Sensitivity::kFinest));
  command->add_option("--rate", args->rate, "Pictures looked at, a second, 0.5 to 60")
      ->check(CLI::Range(0.5, 60.0))
      ->capture_default_str();
  command
      ->add_option("--frames-per-s", args->frames_per_s,
                   "How many pictures a second a file holds that says no times, 1 to 240")
      ->check(CLI::Range(1.0, 240.0))
      ->capture_default_str();
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = replay(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
