// rookery camera add|list|set|remove
#include <fmt/format.h>

#include <boost/json/array.hpp>
#include <iostream>

#include "archive/camera_store.h"
#include "archive/segment_store.h"
#include "base/redact.h"
#include "camera/check.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

// What was given on the command line; what was not given stays as it is (set) or takes its default (add).
struct CameraArgs {
  std::string name;
  std::optional<std::string> stream, still, title, user;
  std::optional<bool> enabled;
  std::optional<std::string> record, mask;
  std::optional<int> pre_roll_ms, post_roll_ms, sensitivity;
  std::optional<int> poll_ms;
  std::optional<int> keep_hours;   // 0: no bound
  std::optional<double> keep_gib;  // 0: no bound
  bool password_stdin = false;
  std::optional<std::string> password;  // read from standard input
  bool pushed = false;
};

void add_settings_options(CLI::App& command, CameraArgs& args) {
  command.add_option("--still", args.still, "Address of the board's still picture");
  command.add_flag("--pushed", args.pushed,
                   "The board sends stills to the station itself (see `token new --push`)");
  command.add_option("--title", args.title, "A longer name for people");
  command.add_option("--user", args.user, "Name for the board's own sign-in");
  command.add_flag("--password-stdin", args.password_stdin, "Read the board's password from standard input");
  command.add_option("--poll-ms", args.poll_ms,
                     "Without a stream: ask for a still every so many ms (100 to 3600000)");
  command.add_option("--enabled", args.enabled, "false: the board is left alone");
  command.add_option("--record", args.record, "always, around events, or never")
      ->check(CLI::IsMember({"always", "events", "never"}));
  command.add_option("--pre-roll-ms", args.pre_roll_ms,
                     "Around events: so much before each is recorded (0 to 30000)");
  command.add_option("--post-roll-ms", args.post_roll_ms, "… and so much after it (0 to 120000)");
  command.add_option("--sensitivity", args.sensitivity, "How small a thing counts: 1, coarse, to 5, fine");
  command.add_option("--mask", args.mask,
                     "The part of the picture that motion ignores, as the page paints it; \"\" for none");
  command.add_option("--keep-hours", args.keep_hours, "Recordings older than this go; 0: no limit by age")
      ->check(CLI::Range(0, 876000));
  command
      .add_option("--keep-gib", args.keep_gib,
                  "The oldest go when this camera's take more GiB; 0: no limit of its own")
      ->check(CLI::Range(0.0, 1e6));
}

// Before the catalog is opened: whoever types must not hold it.
void read_password(CameraArgs& args, std::istream& in) {
  if (!args.password_stdin) return;
  std::string line;
  std::getline(in, line);
  if (!line.empty() && line.back() == '\r') line.pop_back();
  args.password = std::move(line);
}

base::Result<void> apply_motion_args(const CameraArgs& args, camera::Settings& settings) {
  if (args.record) settings.record = camera::record_of(*args.record).value_or(settings.record);
  if (args.pre_roll_ms) settings.pre_roll = std::chrono::milliseconds(*args.pre_roll_ms);
  if (args.post_roll_ms) settings.post_roll = std::chrono::milliseconds(*args.post_roll_ms);
  if (args.sensitivity) settings.sensitivity.step = *args.sensitivity;
  if (args.mask) {
    auto mask = vision::Mask::parse(*args.mask);
    if (!mask) return mask.error();
    settings.mask = std::move(*mask);
  }
  return base::ok();
}

// is_known: the settings are those of a camera that there is already.
base::Result<void> apply_args(const CameraArgs& args, bool is_known, camera::Settings& settings) {
  if (auto applied = apply_motion_args(args, settings); !applied) return applied;
  if (args.stream) settings.stream_address = *args.stream;
  if (args.still) settings.still_address = *args.still;
  if (args.title) settings.title = *args.title;
  if (args.user) settings.user = *args.user;
  if (args.enabled) settings.enabled = *args.enabled;
  if (args.poll_ms) settings.poll_every = std::chrono::milliseconds(*args.poll_ms);
  if (args.keep_hours) {
    settings.keep_for.reset();
    if (*args.keep_hours > 0) settings.keep_for = std::chrono::hours(*args.keep_hours);
  }
  if (args.keep_gib) {
    settings.keep_bytes.reset();
    if (*args.keep_gib > 0) settings.keep_bytes = static_cast<std::uint64_t>(*args.keep_gib * (1ull << 30));
  }
  if (args.password) settings.password = *args.password;
  // Addresses that were not named say nothing about how pictures come: that stays as it is.
  const bool source_is_settled = is_known && !args.stream && !args.still;
  if (args.pushed) {
    settings.source = camera::Source::pushed;
  } else if (source_is_settled) {
    return base::ok();
  } else if (!settings.stream_address.empty()) {
    settings.source = camera::Source::stream;
  } else if (!settings.still_address.empty()) {
    settings.source = camera::Source::stills;
  } else if (settings.source != camera::Source::pushed) {
    return base::Error(
        base::ErrorCode::invalid_value, "camera " + settings.name.text(), "no address was given",
        "Give the stream address, or --still ADDRESS, or --pushed for a board that sends stills itself.");
  }
  return base::ok();
}

boost::json::object to_json(const camera::Settings& settings) {
  boost::json::object object;
  object["name"] = settings.name.text();
  object["title"] = settings.title;
  object["source"] = camera::name_of(settings.source);
  object["stream_address"] = base::redact_address(settings.stream_address);
  object["still_address"] = base::redact_address(settings.still_address);
  object["user"] = settings.user;
  object["has_password"] = !settings.password.empty();
  object["poll_every_ms"] = settings.poll_every.count();
  object["enabled"] = settings.enabled;
  object["record"] = camera::name_of(settings.record);
  object["pre_roll_ms"] = settings.pre_roll.count();
  object["post_roll_ms"] = settings.post_roll.count();
  object["sensitivity"] = settings.sensitivity.step;
  object["mask"] = nullptr;
  if (!settings.mask.empty()) object["mask"] = settings.mask.text();
  object["keep_for_h"] = nullptr;
  object["keep_bytes"] = nullptr;
  if (settings.keep_for) object["keep_for_h"] = settings.keep_for->count();
  if (settings.keep_bytes) object["keep_bytes"] = *settings.keep_bytes;
  return object;
}

std::string_view words_of(camera::Record record) {
  switch (record) {
    case camera::Record::always:
      return "recorded";
    case camera::Record::events:
      return "around events";
    case camera::Record::never:
      return "not recorded";
  }
  return "recorded";
}

std::string to_text(const camera::Settings& settings) {
  const std::string& address =
      settings.stream_address.empty() ? settings.still_address : settings.stream_address;
  return fmt::format("{:<16} {:<7} {:<4} {:<13} {}", settings.name.text(), camera::name_of(settings.source),
                     settings.enabled ? "on" : "off", words_of(settings.record),
                     address.empty() ? "-" : base::redact_address(address));
}

base::Result<void> add_camera(const CameraArgs& args, Context& context) {
  auto name = base::CameraName::parse(args.name);
  if (!name) return name.error();
  camera::Settings settings(*name);
  if (auto applied = apply_args(args, false, settings); !applied) return applied;
  // Before a home is made for it.
  if (auto good = camera::check(settings); !good) return good;
  auto catalog = open_or_make_home(context);
  if (!catalog) return catalog.error();
  if (auto added = archive::CameraStore(**catalog).add(settings); !added) return added;
  context.print(to_json(settings),
                fmt::format("{} was added. A running station takes it up within 2 s.", name->text()));
  return base::ok();
}

base::Result<void> set_camera(const CameraArgs& args, Context& context) {
  auto name = base::CameraName::parse(args.name);
  if (!name) return name.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto settings = archive::CameraStore(**catalog).change(
      *name, [&](camera::Settings& stored) { return apply_args(args, true, stored); });
  if (!settings) return settings.error();
  context.print(to_json(*settings), to_text(*settings));
  return base::ok();
}

base::Result<void> list_cameras(Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto list = archive::CameraStore(**catalog).list();
  if (!list) return list.error();
  archive::SegmentStore segments(**catalog);
  for (const auto& settings : *list) {
    boost::json::object object = to_json(settings);
    auto bytes = segments.bytes_of(settings.name);
    if (!bytes) return bytes.error();
    object["recorded_bytes"] = *bytes;
    context.print(object, fmt::format("{}  ({:.1f} MiB recorded)", to_text(settings),
                                      static_cast<double>(*bytes) / (1 << 20)));
  }
  if (list->empty() && !context.json)
    context.out << "No cameras yet. `rookery camera add NAME STREAM-ADDRESS` adds the first.\n";
  return base::ok();
}

base::Result<void> remove_camera(const CameraArgs& args, Context& context) {
  auto name = base::CameraName::parse(args.name);
  if (!name) return name.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  if (auto removed = archive::CameraStore(**catalog).remove(*name); !removed) return removed;
  context.print(
      {{"removed", name->text()}},
      fmt::format("{0} was removed, with its tokens. Its recordings stay in {1}; whoever may see a later "
                  "camera called {0} sees them too.",
                  name->text(), (context.home / "archive" / name->text()).string()));
  return base::ok();
}

}  // namespace

void add_camera_command(CLI::App& app, Context& context) {
  CLI::App* camera = app.add_subcommand("camera", "The cameras that the station knows");
  camera->require_subcommand(1);
  auto args = std::make_shared<CameraArgs>();

  CLI::App* add = camera->add_subcommand("add", "Add a camera; the first one makes a home that is not there");
  add->add_option("NAME", args->name, "Its name: a-z, 0-9 and \"-\", at most 63")->required();
  add->add_option("STREAM-ADDRESS", args->stream, "Address of its motion-JPEG stream, http://… or https://…");
  add_settings_options(*add, *args);
  context.add_common(*add);
  add->callback([args, &context] {
    read_password(*args, context.in);
    if (auto done = add_camera(*args, context); !done) context.fail(done.error());
  });

  CLI::App* list = camera->add_subcommand("list", "The cameras and their settings");
  context.add_common(*list);
  list->callback([&context] {
    if (auto done = list_cameras(context); !done) context.fail(done.error());
  });

  CLI::App* set = camera->add_subcommand("set", "Change a camera's settings; what is not named stays");
  set->add_option("NAME", args->name, "Which camera")->required();
  set->add_option("--stream", args->stream, "Address of its motion-JPEG stream; \"\" for none");
  add_settings_options(*set, *args);
  context.add_common(*set);
  set->callback([args, &context] {
    read_password(*args, context.in);
    if (auto done = set_camera(*args, context); !done) context.fail(done.error());
  });

  CLI::App* remove = camera->add_subcommand("remove", "Forget a camera; its recordings stay");
  remove->add_option("NAME", args->name, "Which camera")->required();
  context.add_common(*remove);
  remove->callback([args, &context] {
    if (auto done = remove_camera(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
