// rookery export CAMERA --from TIME --to TIME -o FILE
#include <fmt/format.h>

#include "archive/export.h"
#include "cli/cli.h"
#include "cli/stop_signal.h"

namespace rookery::cli {
namespace {

struct ExportArgs {
  std::string camera;
  std::string from;
  std::string to;
  std::filesystem::path file;
  std::string format;
  int frames_per_s = 0;
};

// --format, else what the file's name says.
base::Result<archive::ExportFormat> format_of(const ExportArgs& args) {
  const std::string ending = args.file.extension().string();
  if (args.format == "mp4" || (args.format.empty() && ending == ".mp4")) return archive::ExportFormat::mp4;
  if (args.format == "matroska" || (args.format.empty() && ending == ".mkv"))
    return archive::ExportFormat::matroska;
  return base::Error(base::ErrorCode::invalid_value, "export",
                     fmt::format("\"{}\" does not say which kind of file is wanted", args.file.string()),
                     "Let it end in .mkv (the camera's own pictures) or .mp4 (H.264), or give --format.");
}

base::Result<void> export_clip(const ExportArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto from = base::parse_rfc3339(args.from);
  if (!from) return from.error();
  auto to = base::parse_rfc3339(args.to);
  if (!to) return to.error();
  auto format = format_of(args);
  if (!format) return format.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();

  archive::ExportRequest request(*camera, *from, *to, *format);
  request.frames_per_s = args.frames_per_s;
  stop_on_signals();
  auto result = archive::export_span(**catalog, request, args.file, [&context](double share) {
    context.show_progress("exporting", share);
    return !asked_to_stop();
  });
  if (!result) return result.error();
  context.end_progress();
  context.print({{"file", args.file.string()},
                 {"frames", result->frames},
                 {"bytes", result->bytes},
                 {"first", base::to_rfc3339(result->first)},
                 {"last", base::to_rfc3339(result->last)}},
                fmt::format("{}: {} frames, {:.1f} MiB, {} to {}", args.file.string(), result->frames,
                            static_cast<double>(result->bytes) / (1 << 20), base::to_rfc3339(result->first),
                            base::to_rfc3339(result->last)));
  return base::ok();
}

}  // namespace

void add_export_command(CLI::App& app, Context& context) {
  CLI::App* command =
      app.add_subcommand("export", "Write a span of a camera's recording as a file that any player plays");
  auto args = std::make_shared<ExportArgs>();
  command->add_option("CAMERA", args->camera, "Which camera")->required();
  command->add_option("--from", args->from, "Start, for example 2026-03-01T12:00:00Z")->required();
  command->add_option("--to", args->to, "End")->required();
  command->add_option("-o,--output", args->file, "The file; .mkv or .mp4. It must not exist")->required();
  command->add_option("--format", args->format, "matroska: not re-encoded; mp4: H.264")
      ->check(CLI::IsMember({"matroska", "mp4"}));
  command
      ->add_option("--frames-per-s", args->frames_per_s,
                   "mp4: constant frame rate, 1 to 60; 0: the recording's own")
      ->check(CLI::Range(0, 60));
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = export_clip(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
