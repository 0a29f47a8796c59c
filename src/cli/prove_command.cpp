// rookery prove NAME|ADDRESS [--minutes N] [--profile NAME] [--lamp] [--sizes] [--report FILE.html]
#include <cmath>
#include <iostream>

#include <fmt/format.h>

#include "archive/camera_store.h"
#include "archive/home_lock.h"
#include "base/log.h"
#include "base/output_place.h"
#include "camera/acceptance.h"
#include "camera/board_register.h"
#include "camera/prove.h"
#include "camera/prove_target.h"
#include "cli/cli.h"
#include "cli/prove_words.h"
#include "cli/stop_signal.h"
#include "station/prove_report.h"

namespace rookery::cli {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

constexpr const char* kUsualProfile = "two-ports";

struct ProveArgs {
  std::string what;
  double minutes = 5;
  std::string profile;
  std::string still;
  std::string user;
  bool password_stdin = false;
  bool lamp = false;
  bool sizes = false;
  std::filesystem::path report;
  bool list_profiles = false;
  std::string show_profile;
};

// What a camera of the home is pulled from, when the station that runs on it does so.
Result<void> not_pulled(const camera::Settings& wanted, const std::vector<camera::Settings>& cameras,
                        const std::filesystem::path& home) {
  if (!archive::HomeLock::is_taken(home)) return base::ok();
  const auto address = camera::pulled_address(wanted);
  const auto key = address ? camera::board_key(*address) : Result<std::string>(std::string());
  for (const camera::Settings& camera : cameras) {
    const auto theirs = camera::pulled_address(camera);
    if (!camera.enabled || !theirs || !key) continue;
    const auto their_key = camera::board_key(*theirs);
    if (!their_key || *their_key != *key) continue;
    const std::string& name = camera.name.text();
    return Error(
        ErrorCode::busy, name, "the station is pulling this board, which serves one viewer at a time",
        fmt::format("Let it go for the test: rookery camera set {0} --enabled false; and afterwards: rookery "
                    "camera set {0} --enabled true",
                    name));
  }
  return base::ok();
}

// The home's cameras; none when there is no home, which an address does not need.
Result<std::vector<camera::Settings>> cameras_of(const Context& context) {
  std::error_code failed;
  if (!std::filesystem::exists(context.home / "catalog.db", failed)) return std::vector<camera::Settings>{};
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  return archive::CameraStore(**catalog).list();
}

Result<camera::Settings> named_camera(const ProveArgs& args, const Context& context) {
  const auto name = base::CameraName::parse(args.what);
  if (!name) return name.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  return archive::CameraStore(**catalog).find(*name);
}

std::string read_line(std::istream& in) {
  std::string line;
  std::getline(in, line);
  if (!line.empty() && line.back() == '\r') line.pop_back();
  return line;
}

Result<camera::ProveOptions> options_of(const ProveArgs& args, Context& context) {
  const bool by_address = camera::is_address(args.what);
  std::optional<camera::Profile> profile;
  if (!args.profile.empty() || by_address) {
    auto found = camera::find_profile(context.home, args.profile.empty() ? kUsualProfile : args.profile);
    if (!found) return found.error();
    profile = std::move(*found);
  }
  auto settings =
      by_address ? camera::settings_at(args.what, *profile, args.still) : named_camera(args, context);
  if (!settings) return settings.error();
  if (!by_address && settings->still_address.empty() && profile)
    settings->still_address = camera::still_by_profile(*settings, *profile);
  if (!by_address && !args.still.empty()) settings->still_address = args.still;
  if (!args.user.empty()) settings->user = args.user;
  if (args.password_stdin) settings->password = read_line(context.in);
  auto cameras = cameras_of(context);
  if (!cameras) return cameras.error();
  if (auto free = not_pulled(*settings, *cameras, context.home); !free) return free.error();
  settings->enabled = true;  // switched off is how a station lets a board go
  camera::ProveOptions options(std::move(*settings));
  options.profile = std::move(profile);
  options.duration = std::chrono::milliseconds(std::llround(args.minutes * 60'000));
  options.lamp = args.lamp;
  options.sizes = args.sizes;
  return options;
}

// What is unfit stays so; a test that was stopped proves nothing else.
ExitCode exit_code_for(const camera::Measurements& measured, const camera::Acceptance& acceptance) {
  if (acceptance.overall == camera::Verdict::unfit) return kCheckFailed;
  return measured.interrupted || !acceptance.overall ? kCouldNot : kDone;
}

// Where nobody answers, the address may be another one.
Error with_way_out(Error error) {
  const bool nobody = error.code == ErrorCode::refused || error.code == ErrorCode::unreachable ||
                      error.code == ErrorCode::timed_out;
  if (nobody && !error.remedy.empty())
    error.remedy += ". `rookery find` lists the boards here with their addresses";
  return error;
}

Result<void> prove(const ProveArgs& args, Context& context) {
  if (args.what.empty()) {
    return Error(ErrorCode::invalid_value, "prove", "neither a camera's name nor an address was given",
                 "rookery prove bobbin, or rookery prove http://192.0.2.17:81/stream");
  }
  // Found out now, and not after the test.
  std::error_code failed;
  const auto folder = args.report.has_parent_path() ? args.report.parent_path() : std::filesystem::path(".");
  if (!args.report.empty() && !std::filesystem::is_directory(folder, failed)) {
    return Error(ErrorCode::not_found, args.report.string(), "there is no such folder for the report",
                 "Make it first, or name another file");
  }
  auto options = options_of(args, context);
  if (!options) return options.error();
  stop_on_signals();
  // What the pull meets on its way is told once, in the verdict or in the error.
  base::set_log_level(base::LogLevel::error);
  const base::SystemClock clock;
  auto measured = camera::prove(*options, clock, [&](std::string_view stage, double share) {
    context.show_progress(fmt::format("proving {}: {}", options->settings.name.text(), stage), share);
    return !asked_to_stop();
  });
  if (!measured) return with_way_out(measured.error());
  context.end_progress();
  const camera::Acceptance acceptance = camera::judge(*measured);
  context.print(json_of(*measured, acceptance), text_of(*measured, acceptance, context.terminal()));
  context.exit_code = exit_code_for(*measured, acceptance);
  if (args.report.empty()) return base::ok();
  const auto place = base::OutputPlace::find(args.report);
  if (!place) return place.error();
  if (auto written = place->write(station::prove_report(*measured, acceptance), 0644); !written)
    return written;
  context.err << fmt::format("The report is in {}\n", args.report.string());
  return base::ok();
}

Result<void> show_profiles(const ProveArgs& args, Context& context) {
  if (!args.show_profile.empty()) {
    const std::string_view text = camera::shipped_profile_text(args.show_profile);
    if (text.empty()) {
      return Error(ErrorCode::not_found, "profile",
                   fmt::format("no profile of the program is called \"{}\"", args.show_profile),
                   fmt::format("There are {}.", fmt::join(camera::shipped_profiles(), ", ")));
    }
    context.out << text;
    return base::ok();
  }
  for (const std::string& name : camera::list_profiles(context.home)) {
    auto profile = camera::find_profile(context.home, name);
    if (!profile) return profile.error();
    context.print({{"name", name}, {"title", profile->title}},
                  fmt::format("{:<14} {}", name, profile->title));
  }
  return base::ok();
}

}  // namespace

void add_prove_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "prove", "Test a board before it is glued shut: measure, then say fit, marginal or unfit, and why");
  auto args = std::make_shared<ProveArgs>();
  command->add_option("NAME|ADDRESS", args->what,
                      "A camera of the station, or an address: 192.0.2.17, or that of its stream");
  command->add_option("--minutes", args->minutes, "How long to measure, 0.05 to 1440")
      ->check(CLI::Range(0.05, 1440.0))
      ->capture_default_str();
  command->add_option("--profile", args->profile,
                      "How this kind of board is spoken to (see --profiles); two-ports for an address");
  command->add_option("--still", args->still, "Address of its still picture, where nothing else says it");
  command->add_option("--user", args->user, "Name for the board's own sign-in");
  command->add_flag("--password-stdin", args->password_stdin,
                    "Read the board's password from standard input");
  command->add_flag(
      "--lamp", args->lamp,
      "Measure the last quarter with the board's lamp on, when the profile says how to switch it");
  command->add_flag(
      "--sizes", args->sizes,
      "Also step through the picture sizes of the profile, 10 s each, and set the board's own back");
  command->add_option("--report", args->report, "Write a report with graphs and stills here (HTML)");
  command->add_flag("--profiles", args->list_profiles,
                    "List the board profiles there are, and do nothing else");
  command->add_option("--show-profile", args->show_profile,
                      "Print a profile of the program, as a pattern for an own one, and do nothing else");
  context.add_common(*command);
  command->callback([args, &context] {
    const bool about_profiles = args->list_profiles || !args->show_profile.empty();
    auto done = about_profiles ? show_profiles(*args, context) : prove(*args, context);
    if (done) return;
    // Of a board, and not of what a person wrote: it could not be reached.
    const bool refused = done.error().code == ErrorCode::refused;
    context.fail(done.error(), refused ? kCouldNot : exit_code_of(done.error().code));
  });
}

}  // namespace rookery::cli
