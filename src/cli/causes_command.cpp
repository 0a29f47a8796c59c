// rookery causes CAMERA [--limit N]
#include <fmt/format.h>

#include <boost/json/array.hpp>

#include "archive/camera_store.h"
#include "archive/dropout_json.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

struct CausesArgs {
  std::string camera;
  std::size_t limit = 10;
};

std::string to_text(const archive::Dropout& dropout) {
  std::string out = base::to_rfc3339(dropout.began);
  if (dropout.back) {
    out +=
        fmt::format("  for {:.1f} s", std::chrono::duration<double>(*dropout.back - dropout.began).count());
  } else {
    out += "  not back when this was told";
  }
  out += fmt::format("  {}\n", dropout.ranking.verdict);
  for (const std::string& line : dropout.ranking.evidence) out += fmt::format("    - {}\n", line);
  out += fmt::format("    What to do: {}", dropout.ranking.remedy);
  return out;
}

base::Result<void> causes(const CausesArgs& args, Context& context) {
  auto name = base::CameraName::parse(args.camera);
  if (!name) return name.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  const auto known = archive::CameraStore(**catalog).find(*name);
  if (!known) return known.error();
  const archive::DropoutStore store(**catalog);
  const auto dropouts = store.list(*name, args.limit);
  if (!dropouts) return dropouts.error();
  const auto summary = store.summary(*name, base::SystemClock().wall());
  if (!summary) return summary.error();
  boost::json::array list;
  std::string text;
  for (const archive::Dropout& dropout : *dropouts) {
    list.push_back(archive::dropout_json(dropout));
    text += to_text(dropout) + "\n\n";
  }
  text += fmt::format("{}: {}.", name->text(), summary->text());
  context.print(
      boost::json::object{{"dropouts", std::move(list)}, {"summary", archive::summary_json(*summary)}}, text);
  return base::ok();
}

}  // namespace

void add_causes_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "causes", "Why a camera dropped out: what was seen, the likely causes, what to do; the newest first");
  auto args = std::make_shared<CausesArgs>();
  command->add_option("CAMERA", args->camera, "The camera's name")->required();
  command->add_option("--limit", args->limit, "At most so many dropouts")
      ->check(CLI::Range(1, 500))
      ->capture_default_str();
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = causes(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
