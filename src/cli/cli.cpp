#include "cli/cli.h"

#include <unistd.h>

#include <cstdlib>
#include <iostream>

#include <fmt/format.h>
#include <boost/json/serialize.hpp>

#include "base/printable.h"
#include "cli/manual.h"

namespace rookery::cli {
namespace {

constexpr const char* kVersion = ROOKERY_VERSION;

std::filesystem::path from_environment(const char* name) {
  const char* value = std::getenv(name);
  return value != nullptr ? std::filesystem::path(value) : std::filesystem::path();
}

void add_manual_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand("manual", "Print the manual page (roff), made from this help");
  command->callback([&app, &context] { context.out << manual_page(app, kVersion); });
}

// What was printed and did not arrive (a full disk behind `>`) is no success, whatever the command did.
void check_output(Context& context) {
  context.out.flush();
  if (context.out.good()) return;
  const base::Error error(base::ErrorCode::io, "standard output", "not all of it could be written",
                          "See whether the disk that it goes to is full.");
  context.err << "rookery: " << error.text() << '\n';
  if (context.exit_code == kDone || context.exit_code == kCheckFailed) context.exit_code = kCouldNot;
}

}  // namespace

std::filesystem::path default_home() {
  if (auto home = from_environment("ROOKERY_HOME"); !home.empty()) return home;
  if (auto data = from_environment("XDG_DATA_HOME"); !data.empty()) return data / "rookery";
  if (auto home = from_environment("HOME"); !home.empty()) return home / ".local" / "share" / "rookery";
  return "rookery-home";
}

void Context::add_json(CLI::App& command) {
  command.add_flag("--json", json, "One JSON object, or one object a line, instead of text");
}

void Context::add_common(CLI::App& command) {
  command.add_option("--home", home, "The station's home folder")->default_str(default_home().string());
  add_json(command);
}

void Context::print(const boost::json::object& object, const std::string& text) {
  if (json) {
    out << boost::json::serialize(object) << '\n';
  } else {
    out << text << '\n';
  }
  out.flush();
}

ExitCode exit_code_of(base::ErrorCode code) {
  switch (code) {
    case base::ErrorCode::invalid_value:
    case base::ErrorCode::not_found:
    case base::ErrorCode::already_exists:
    case base::ErrorCode::unsupported:
    case base::ErrorCode::malformed:  // what a person wrote; what programs wrote is `damaged`
    case base::ErrorCode::refused:
      return kBadUse;
    default:
      return kCouldNot;
  }
}

void Context::fail(const base::Error& error) { fail(error, exit_code_of(error.code)); }

void Context::fail(const base::Error& error, ExitCode code) {
  end_progress();
  if (json) {
    boost::json::object body;
    body["code"] = base::name_of(error.code);
    body["where"] = base::printable_lines(error.where);
    body["detail"] = base::printable_lines(error.detail);
    body["remedy"] = base::printable_lines(error.remedy);
    boost::json::object object;
    object["error"] = std::move(body);
    out << boost::json::serialize(object) << '\n';
  }
  // Whatever of a file's or a person's text is repeated in it: a terminal must not obey it.
  const Terminal terminal = &err == &std::cerr ? terminal_at(STDERR_FILENO) : Terminal();
  err << wrapped(base::printable_lines("rookery: " + error.text()), 0, terminal.width) << '\n';
  exit_code = code;
}

void Context::show_progress(const std::string& what, double share) {
  const int percent = static_cast<int>(share * 100);
  if (percent == shown_percent_ || ::isatty(STDERR_FILENO) == 0) return;
  shown_percent_ = percent;
  // ECMA-48 EL: what an earlier, longer line left behind it goes.
  err << '\r' << what << ' ' << percent << " %\x1b[K" << std::flush;
}

void Context::end_progress() {
  if (shown_percent_ >= 0) err << "\r\x1b[K" << std::flush;
  shown_percent_ = -1;
}

Terminal Context::terminal() const { return &out == &std::cout ? terminal_at(STDOUT_FILENO) : Terminal(); }

int run(int argc, const char* const* argv, Context& context, const std::vector<AddCommand>& more) {
  CLI::App app("Rookery: size, bring up, find, prove, watch and keep the cameras that you build yourself.",
               "rookery");
  app.set_version_flag("--version", std::string("rookery ") + kVersion);
  app.require_subcommand(1);
  app.get_formatter()->column_width(34);
  context.home = default_home();

  for (const AddCommand& add : more) add(app, context);
  add_plan_command(app, context);
  add_serve_command(app, context);
  add_camera_command(app, context);
  add_find_command(app, context);
  add_listen_command(app, context);
  add_person_command(app, context);
  add_token_command(app, context);
  add_export_command(app, context);
  add_events_command(app, context);
  add_causes_command(app, context);
  add_receiver_command(app, context);
  add_rule_command(app, context);
  add_notices_commands(app, context);
  add_replay_command(app, context);
  add_job_command(app, context);
  add_lapse_command(app, context);
  add_prove_command(app, context);
  add_archive_command(app, context);
  add_manual_command(app, context);

  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& asked) {  // --help, --version
    context.exit_code = app.exit(asked, context.out, context.err);
  } catch (const CLI::ParseError& wrong) {
    context.fail(base::Error(base::ErrorCode::invalid_value, "command line", wrong.what(),
                             "`rookery --help` lists the commands; `rookery VERB --help` explains one."),
                 kBadUse);
  } catch (const std::exception& failure) {
    context.fail(base::Error(base::ErrorCode::io, "rookery", failure.what()), kCouldNot);
  }
  check_output(context);
  return context.exit_code;
}

}  // namespace rookery::cli
