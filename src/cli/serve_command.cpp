// rookery serve
#include <fmt/format.h>

#include "cli/cli.h"
#include "cli/serving.h"
#include "station/config.h"

namespace rookery::cli {
namespace {

struct ServeArgs {
  std::string listen;
  std::filesystem::path page_dir;
};

// Options on the command line go before rookery.toml.
base::Result<ServingOptions> options_of(const ServeArgs& args, const Context& context) {
  auto config = station::load_config(context.home);
  if (!config) return config.error();
  auto listen = parse_listen(args.listen.empty() ? config->listen : args.listen);
  if (!listen) return listen.error();
  ServingOptions options;
  options.station.home = context.home;
  options.station.recorder.segment_length = std::chrono::minutes(config->segment_minutes);
  options.station.recorder.keep_free_bytes = static_cast<std::uint64_t>(config->keep_free_gib * (1ull << 30));
  options.station.pre_roll_most_bytes = static_cast<std::size_t>(config->pre_roll_mib) << 20;
  options.station.exports_most_bytes = static_cast<std::uint64_t>(config->exports_gib * (1ull << 30));
  options.station.jobs.most_each = static_cast<std::size_t>(config->jobs_each);
  if (config->films_gib)
    options.station.jobs.films_bytes = static_cast<std::uint64_t>(*config->films_gib * (1ull << 30));
  options.listen = *listen;
  options.host_names = config->host_names;
  for (const std::string& text : config->trusted_proxies) {
    boost::system::error_code bad;
    options.trusted_proxies.push_back(boost::asio::ip::make_address(text, bad));
    if (bad) {
      return base::Error(base::ErrorCode::invalid_value, "rookery.toml",
                         fmt::format("trusted_proxies holds \"{}\", which is no address", text),
                         "Write addresses such as 127.0.0.1 or ::1.");
    }
  }
  options.page_dir = args.page_dir.empty() ? default_page_dir() : args.page_dir;
  return options;
}

base::Result<void> tell(Context& context, station::Station& station, const std::string& address) {
  auto people = station.people().list();
  if (!people) return people.error();
  std::string text = fmt::format("Rookery is at {}", address);
  if (people->empty()) {
    text += fmt::format(
        "\nNo one can sign in yet. Add yourself:\n  rookery person add NAME --role owner --password-stdin "
        "--home {}",
        context.home.string());
  }
  context.print({{"address", address}, {"people", people->size()}}, text);
  return base::ok();
}

base::Result<void> serve(const ServeArgs& args, Context& context) {
  auto options = options_of(args, context);
  if (!options) return options.error();
  return serve_until_signal(*options, [&context](station::Station& station, const std::string& address) {
    return tell(context, station, address);
  });
}

}  // namespace

void add_serve_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "serve",
      "Run the station: pull, record, show, until SIGINT or SIGTERM. Makes a home that is not there");
  auto args = std::make_shared<ServeArgs>();
  command->add_option("--listen", args->listen,
                      "ADDRESS:PORT to listen on; loopback unless told otherwise (127.0.0.1:7420)");
  command->add_option("--page", args->page_dir,
                      "Folder of the built page, when it is not where it is looked for");
  add_verbose(*command);
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = serve(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
