#include "app/demo_command.h"

#include <fmt/format.h>
#include <sodium.h>

#include <fstream>
#include <ostream>

#include "archive/camera_store.h"
#include "archive/home_lock.h"
#include "cli/serving.h"
#include "sim/workshop.h"

namespace rookery::app {
namespace {

struct DemoArgs {
  std::string listen = "127.0.0.1:0";
  std::uint64_t seed = 1;
  int keep_mb = 512;
  std::filesystem::path page_dir;
};

// Adds the workshop's boards, or gives those of an earlier run their new ports, and leaves what a person has
// set of them as it is. Before the station starts: it would ask for the boards at their old ports first.
base::Result<void> put_cameras(const std::filesystem::path& home, const sim::Workshop& workshop,
                               std::uint64_t keep_bytes) {
  auto catalog = archive::Catalog::open(home);
  if (!catalog) return catalog.error();
  // Not under a demo that is running.
  auto lock = archive::HomeLock::take(home);
  if (!lock) return lock.error();
  archive::CameraStore cameras(**catalog);
  const std::vector<sim::WorkshopCamera> boards = workshop.cameras();
  for (const sim::WorkshopCamera& board : boards) {
    auto name = base::CameraName::parse(board.name);
    if (!name) return name.error();
    const auto move = [&](camera::Settings& settings) {
      settings.stream_address = board.stream_address;
      settings.still_address = board.still_address;
      settings.keep_bytes = keep_bytes / boards.size();
      return base::ok();
    };
    if (cameras.find(*name)) {
      if (auto moved = cameras.change(*name, move); !moved) return moved.error();
      continue;
    }
    camera::Settings settings(*name);
    settings.title = board.description;
    if (auto ready = move(settings); !ready) return ready;
    if (auto added = cameras.add(settings); !added) return added;
  }
  return base::ok();
}

// The demo's owner has a password that nobody knows; one signs in by the one-time code.
base::Result<std::string> sign_in_code(station::Station& station, const base::Clock& clock) {
  auto people = station.people().list();
  if (!people) return people.error();
  if (people->empty()) {
    std::string password(32, '\0');
    randombytes_buf(password.data(), password.size());
    for (char& c : password) c = static_cast<char>('a' + (static_cast<unsigned char>(c) % 26));
    auto person = station.people().add("keeper", archive::Role::owner, password);
    if (!person) return person.error();
    people->push_back(*person);
  }
  return station.people().new_one_time_code(people->front().id, clock.wall() + std::chrono::minutes(15));
}

// What really happened in this run, after what happened in earlier ones.
base::Result<void> add_truth(const std::filesystem::path& path, const sim::Workshop& workshop) {
  std::ofstream out(path, std::ios::app);
  workshop.write_truth(out);
  out.close();
  if (out) return base::ok();
  return base::Error(base::ErrorCode::io, path.string(), "the truth of this run cannot be written",
                     "Look whether the disk is full");
}

base::Result<void> demo(const DemoArgs& args, cli::Context& context) {
  auto listen = cli::parse_listen(args.listen);
  if (!listen) return listen.error();
  sim::WorkshopOptions workshop_options;
  workshop_options.seed = args.seed;
  sim::Workshop workshop(workshop_options);
  if (auto started = workshop.start(); !started) return started;
  context.err << "Painting the Saltmarsh Repair Hall…" << std::endl;

  cli::ServingOptions options;
  options.station.home = context.home;
  options.station.recorder.segment_length = std::chrono::seconds(60);
  options.listen = *listen;
  options.page_dir = args.page_dir.empty() ? cli::default_page_dir() : args.page_dir;
  const std::uint64_t keep_bytes = static_cast<std::uint64_t>(args.keep_mb) * 1'000'000;
  if (auto put = put_cameras(context.home, workshop, keep_bytes); !put) return put;
  auto served = cli::serve_until_signal(
      options, [&](station::Station& station, const std::string& address) -> base::Result<void> {
        auto code = sign_in_code(station, station.clock());
        if (!code) return code.error();
        // The address is printed when there is something to see behind it.
        workshop.wait_until_painted(std::chrono::seconds(60));
        // The code stands in the fragment, which a browser never sends to a server.
        const std::string link = fmt::format("{}/#once={}", address, *code);
        context.print(
            {{"address", link}, {"home", context.home.string()}},
            fmt::format("The Saltmarsh Repair Hall: eight make-believe boards, one station. Recordings take "
                        "at most {} MB in {}.\n"
                        "Open this; it signs you in once, within 15 minutes:\n\n  {}\n\nCtrl-C ends it.",
                        args.keep_mb, context.home.string(), link));
        return base::ok();
      });
  if (!served) return served;
  return add_truth(context.home / "truth.jsonl", workshop);
}

}  // namespace

void add_demo_command(CLI::App& app, cli::Context& context) {
  CLI::App* command = app.add_subcommand(
      "demo", "The Saltmarsh Repair Hall: eight make-believe boards and a station to try things on");
  auto args = std::make_shared<DemoArgs>();
  command->add_option("--listen", args->listen, "ADDRESS:PORT of the station")->capture_default_str();
  command->add_option("--seed", args->seed, "The same seed, the same happenings")->capture_default_str();
  command->add_option("--keep-mb", args->keep_mb, "Recordings take at most this much")
      ->check(CLI::Range(64, 1'000'000))
      ->capture_default_str();
  command->add_option("--page", args->page_dir,
                      "Folder of the built page, when it is not where it is looked for");
  cli::add_verbose(*command);
  CLI::Option* home = command->add_option(
      "--home", context.home, "Folder for catalog and recordings; a demo folder of its own unless given");
  context.add_json(*command);
  command->callback([args, home, &context] {
    if (home->count() == 0) context.home = cli::default_home().concat("-demo");
    if (auto done = demo(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::app
