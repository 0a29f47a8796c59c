// rookery archive check|rebuild
#include <fmt/format.h>

#include "archive/upkeep.h"
#include "cli/archive_state_command.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

base::Result<void> check_archive(Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto total = archive::SegmentStore(**catalog).count();
  if (!total) return total.error();
  std::size_t seen = 0;
  auto report = archive::check(**catalog, [&](const archive::CheckedSegment& segment) {
    ++seen;
    context.show_progress(
        "checking", static_cast<double>(seen) / static_cast<double>(std::max<std::uint64_t>(*total, 1)));
    if (!segment.fault.empty()) {
      context.end_progress();
      context.print({{"path", segment.path}, {"fault", segment.fault}},
                    fmt::format("{}: {}", segment.path, segment.fault));
    }
    return true;
  });
  if (!report) return report.error();
  context.end_progress();
  const bool sound = report->damaged.empty();
  context.print(
      {{"segments", report->segments}, {"frames", report->frames}, {"damaged", report->damaged.size()}},
      fmt::format("{} segments, {} frames, {} damaged.{}", report->segments, report->frames,
                  report->damaged.size(),
                  sound ? "" : " `rookery archive rebuild` makes the catalog anew from what is whole."));
  if (!sound) context.exit_code = kCheckFailed;
  return base::ok();
}

base::Result<void> rebuild_archive(Context& context) {
  std::error_code failed;
  if (!std::filesystem::exists(context.home / "catalog.db", failed) && !failed &&
      !has_recordings(context.home)) {
    return base::Error(base::ErrorCode::not_found, context.home.string(),
                       "there are no recordings here and no catalog; nothing was made or changed",
                       "Name the station's home with --home or ROOKERY_HOME.");
  }
  auto report = archive::rebuild(context.home, [&context](double share) {
    context.show_progress("rebuilding", share);
    return true;
  });
  if (!report) return report.error();
  context.end_progress();
  context.print({{"segments", report->segments}, {"frames", report->frames}, {"cameras", report->cameras}},
                fmt::format("The catalog has {} segments with {} frames of {} cameras again.",
                            report->segments, report->frames, report->cameras));
  return base::ok();
}

}  // namespace

void add_archive_command(CLI::App& app, Context& context) {
  CLI::App* archive = app.add_subcommand("archive", "The recordings on disk");
  archive->require_subcommand(1);
  CLI::App* check =
      archive->add_subcommand("check", "Read every segment through; exit 1 when one is damaged");
  context.add_common(*check);
  check->callback([&context] {
    if (auto done = check_archive(context); !done) {
      const bool damaged = done.error().code == base::ErrorCode::damaged;
      damaged ? context.fail(done.error(), kCheckFailed) : context.fail(done.error());
    }
  });
  CLI::App* rebuild =
      archive->add_subcommand("rebuild", "Make the catalog's segments and strips anew from the files");
  context.add_common(*rebuild);
  rebuild->callback([&context] {
    if (auto done = rebuild_archive(context); !done) context.fail(done.error());
  });
  add_archive_state(*archive, context);
}

}  // namespace rookery::cli
