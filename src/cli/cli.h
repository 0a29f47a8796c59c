// The command line: `rookery VERB [ARGS] [--json]`. One file a command; each parses, calls, prints.
#pragma once

#include <filesystem>
#include <functional>
#include <iosfwd>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <boost/json/object.hpp>

#include "archive/catalog.h"
#include "base/result.h"
#include "cli/terminal.h"

namespace rookery::cli {

// Exit codes of every command.
enum ExitCode : int {
  kDone = 0,
  kCheckFailed = 1,  // unfit, damaged
  kBadUse = 2,       // a wrong word or value
  kCouldNot = 3,     // network, disk, someone else holds it, interrupted
};

// What all commands share: where to print, and the options that stand with each of them.
class Context {
 public:
  Context(std::istream& in, std::ostream& out, std::ostream& err) : in(in), out(out), err(err) {}

  std::istream& in;
  std::ostream& out;
  std::ostream& err;
  bool json = false;
  std::filesystem::path home;
  int exit_code = kDone;

  // Gives `command` the options --home and --json.
  void add_common(CLI::App& command);
  void add_json(CLI::App& command);

  // One result: an object on one line with --json, else the text.
  void print(const boost::json::object& object, const std::string& text);
  // Says what went wrong (text on `err`; with --json an object {"error": …} on `out` as well) and sets the
  // exit code.
  void fail(const base::Error& error);
  void fail(const base::Error& error, ExitCode code);
  // Progress of long work, 0–1, on a terminal only.
  void show_progress(const std::string& what, double share);
  void end_progress();

  // What `out` goes to, where that is a terminal.
  Terminal terminal() const;

 private:
  int shown_percent_ = -1;
};

// The exit code that goes with an error.
ExitCode exit_code_of(base::ErrorCode code);

// The home's catalog, which must be there: whoever mistypes --home is told so instead of getting an empty
// home. Errors: not_found, saying whether only the catalog is lost; those of Catalog::open.
base::Result<std::unique_ptr<archive::Catalog>> open_home(const Context& context);
// The same for what makes the first of something: makes the home when there is none, and says so on
// `context.err`. Errors: not_found when there are recordings, but no catalog; those of Catalog::open.
base::Result<std::unique_ptr<archive::Catalog>> open_or_make_home(Context& context);
// Whether `home` holds recordings; false also when it cannot be looked into.
bool has_recordings(const std::filesystem::path& home);

// $ROOKERY_HOME, else $XDG_DATA_HOME/rookery, else ~/.local/share/rookery.
std::filesystem::path default_home();

using AddCommand = std::function<void(CLI::App&, Context&)>;

void add_serve_command(CLI::App& app, Context& context);
void add_camera_command(CLI::App& app, Context& context);
void add_find_command(CLI::App& app, Context& context);
void add_listen_command(CLI::App& app, Context& context);
void add_person_command(CLI::App& app, Context& context);
void add_token_command(CLI::App& app, Context& context);
void add_export_command(CLI::App& app, Context& context);
void add_events_command(CLI::App& app, Context& context);
void add_causes_command(CLI::App& app, Context& context);
void add_receiver_command(CLI::App& app, Context& context);
void add_rule_command(CLI::App& app, Context& context);
void add_notices_commands(CLI::App& app, Context& context);
void add_replay_command(CLI::App& app, Context& context);
void add_job_command(CLI::App& app, Context& context);
void add_lapse_command(CLI::App& app, Context& context);
void add_prove_command(CLI::App& app, Context& context);
void add_archive_command(CLI::App& app, Context& context);
void add_plan_command(CLI::App& app, Context& context);

// Runs one command line (without the program's name in front: as main gets it). `more` adds commands from
// outside this floor.
int run(int argc, const char* const* argv, Context& context, const std::vector<AddCommand>& more);

}  // namespace rookery::cli
