// rookery replay FILE|NAME [--from TIME] [--to TIME] [--mask MASK] [--sensitivity 1..5] [--rate N]
#include <cmath>

#include <fmt/format.h>

#include "archive/camera_store.h"
#include "base/file.h"
#include "cli/cli.h"
#include "cli/pictures_from.h"
#include "cli/stop_signal.h"
#include "station/replay.h"
#include "vision/picture_share.h"

namespace rookery::cli {
namespace {

using base::Error;
using base::ErrorCode;
using base::Microseconds;
using base::WallTime;

constexpr std::size_t kMostMask_bytes = 2 << 20;  // 512×512 cells in turn looked at and ignored: 524 kB

struct ReplayArgs {
  PicturesArgs pictures;
  std::optional<std::string> mask;  // not given: the camera's own, as is the sensitivity
  std::optional<int> sensitivity;
  double rate = station::ReplaySettings::kUsualRate;
};

double seconds(Microseconds time) { return std::chrono::duration<double>(time).count(); }
double rounded(double value, double steps) { return std::round(value * steps) / steps; }

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

void print_event(Context& context, const vision::MotionEvent& event, std::optional<WallTime> first_at) {
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
  if (first_at) {
    const std::string start = base::to_rfc3339(*first_at + event.start);
    const std::string end = base::to_rfc3339(*first_at + event.end);
    object["start"] = start;
    object["end"] = end;
    object["best"] = base::to_rfc3339(*first_at + event.best_at);
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

// What was not given is as the camera has it.
base::Result<void> take_camera_settings(const PicturesFrom& pictures, const ReplayArgs& args,
                                        station::ReplaySettings& settings) {
  if (pictures.is_film()) return base::ok();
  auto camera =
      archive::CameraStore(*pictures.catalog()).find(base::CameraName::parse(pictures.what()).value());
  // A camera that is gone has recordings, but no settings.
  if (!camera && camera.error().code == ErrorCode::not_found) return base::ok();
  if (!camera) return camera.error();
  if (!args.sensitivity) settings.sensitivity = camera->sensitivity;
  if (!args.mask) settings.mask = std::move(camera->mask);
  return base::ok();
}

base::Result<void> replay(const ReplayArgs& args, Context& context) {
  station::ReplaySettings settings;
  settings.rate = args.rate;
  if (args.mask) {
    auto mask = read_mask(*args.mask);
    if (!mask) return mask.error();
    settings.mask = std::move(*mask);
  }
  if (args.sensitivity) settings.sensitivity = vision::Sensitivity{*args.sensitivity};
  stop_on_signals();
  auto pictures = PicturesFrom::parse(args.pictures, context, "replay");
  if (!pictures) return pictures.error();
  if (auto taken = take_camera_settings(*pictures, args, settings); !taken) return taken;
  auto opened = pictures->open();
  if (!opened) return opened.error();
  archive::PictureSource& source = **opened;
  const base::SystemClock clock;
  const base::MonoTime began = clock.mono();
  auto report = station::replay(
      source, settings,
      [&](const vision::MotionEvent& event) { print_event(context, event, source.first_at()); },
      [&] {
        context.show_progress("replaying", source.passed());
        return !asked_to_stop();
      });
  if (!report) return report.error();
  context.end_progress();
  sum_up(context, *report, source, std::chrono::duration<double>(clock.mono() - began).count());
  return base::ok();
}

}  // namespace

void add_replay_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "replay", "Look for motion in what is recorded, or in a film, and print the events it makes");
  auto args = std::make_shared<ReplayArgs>();
  add_pictures_options(*command, args->pictures);
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
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = replay(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
