// rookery lapse FILE|NAME [--from TIME] [--to TIME] [--length TIME|--speed N] [-o FILE]
#include <unistd.h>

#include <charconv>

#include <fmt/format.h>

#include "archive/lapse.h"
#include "base/printable.h"
#include "cli/cli.h"
#include "cli/pictures_from.h"
#include "cli/stop_signal.h"

namespace rookery::cli {
namespace {

using archive::LapseRequest;
using archive::LapseResult;
using base::Error;
using base::ErrorCode;

struct LapseArgs {
  PicturesArgs pictures;
  std::string length;
  std::string speed;
  int width_px = 0;
  int rate = 25;
  std::filesystem::path file;
  std::string format;
  std::string card;
  bool lit_only = false;
  bool clock = false;
  bool force = false;
};

// A file's name in one line, whatever is in it: a terminal would obey it.
std::string shown(const std::filesystem::path& file) { return base::printable(file.string(), 4096); }

double seconds(base::Microseconds time) { return std::chrono::duration<double>(time).count(); }

// Without one of the endings, which are of one or more bytes.
std::string without(std::string text, std::initializer_list<std::string_view> endings) {
  for (const std::string_view ending : endings) {
    if (!text.ends_with(ending)) continue;
    text.resize(text.size() - ending.size());
    break;
  }
  while (text.ends_with(' ')) text.pop_back();
  return text;
}

// "30", "30s", "1:30".
base::Result<double> parse_length(const std::string& text) {
  auto time = parse_film_time(without(text, {"s"}), "lapse");
  if (time && time->count() > 0) return seconds(*time);
  return Error(ErrorCode::invalid_value, "lapse", fmt::format("\"{}\" is no length of a film", text),
               "Give seconds, or minutes and seconds, up to an hour: 30s, 1:30.");
}

// "300", "300x", "300×".
base::Result<double> parse_speed(const std::string& text) {
  const std::string number = without(text, {"×", "x"});
  double speed = 0;
  const auto read =
      std::from_chars(number.data(), number.data() + number.size(), speed, std::chars_format::fixed);
  if (read.ec == std::errc() && read.ptr == number.data() + number.size() && speed >= 1 && speed <= 1e6)
    return speed;
  return Error(ErrorCode::invalid_value, "lapse", fmt::format("\"{}\" is no speed", text),
               "Say how many times as fast as it happened, 1 to 1000000: 300x.");
}

// --format, else what the file's name says, else MP4.
base::Result<archive::FilmFormat> format_of(const LapseArgs& args) {
  std::string ending = args.file.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  const auto named = archive::parse_film_format(ending.empty() ? ending : ending.substr(1));
  const auto wrong = [&](std::string_view what, std::string remedy) {
    return Error(ErrorCode::invalid_value, "lapse",
                 fmt::format("\"{}\" {}", base::printable(args.file.string()), what), std::move(remedy));
  };
  if (args.format.empty()) {
    if (named) return named;
    if (ending.empty()) return archive::FilmFormat::mp4;
    return wrong("does not say which kind of film is wanted",
                 "Let it end in .mp4, .webm or .webp, or give --format.");
  }
  auto asked = archive::parse_film_format(args.format);
  if (asked && named && *named != *asked)
    return wrong(fmt::format("is no name for {}", args.format), "Let it end as its kind does.");
  return asked;
}

// What is there already is replaced when the person says so, now or by --force.
base::Result<void> settle_existing(const LapseArgs& args, const std::filesystem::path& file,
                                   LapseRequest& request, Context& context) {
  std::error_code failed;
  if (args.force) request.existing = archive::Existing::replace;
  const auto status = std::filesystem::status(file, failed);
  if (!std::filesystem::exists(status)) return base::ok();
  if (!std::filesystem::is_regular_file(status)) {
    return Error(ErrorCode::invalid_value, "lapse",
                 fmt::format("\"{}\" is there, and is no file", shown(file)),
                 "Give the name of a file with -o.");
  }
  // Not even with --force: what the film is made of would be gone.
  if (std::filesystem::equivalent(file, args.pictures.what, failed)) {
    return Error(ErrorCode::invalid_value, "lapse",
                 fmt::format("{} is what the film is made of", shown(file)), "Give another name with -o.");
  }
  if (args.force) return base::ok();
  if (!context.json && ::isatty(STDIN_FILENO) == 1 && ::isatty(STDERR_FILENO) == 1) {
    context.err << fmt::format("{} is there. Replace it? [y/N] ", shown(file)) << std::flush;
    std::string answer;
    std::getline(context.in, answer);
    if (answer == "y" || answer == "Y" || answer == "yes") {
      request.existing = archive::Existing::replace;
      return base::ok();
    }
  }
  return Error(ErrorCode::already_exists, "lapse", fmt::format("{} exists", shown(file)),
               "Give another name with -o, or --force to replace it.");
}

base::Result<LapseRequest> request_of(const LapseArgs& args) {
  LapseRequest request;
  if (!args.length.empty()) {
    auto length = parse_length(args.length);
    if (!length) return length.error();
    request.length_s = *length;
  }
  if (!args.speed.empty()) {
    auto speed = parse_speed(args.speed);
    if (!speed) return speed.error();
    request.speed = *speed;
  }
  auto format = format_of(args);
  if (!format) return format.error();
  request.format = *format;
  request.frames_per_s = args.rate;
  request.width_px = args.width_px;
  request.card = args.card;
  request.lit_only = args.lit_only;
  request.clock = args.clock;
  return request;
}

std::string count_of(std::uint64_t number, std::string_view what) {
  return fmt::format("{} {}{}", number, what, number == 1 ? "" : "s");
}

// What the person should know of the film, a line each; on `err`, so that what is on `out` is the film alone.
void add_remarks(const LapseResult& result, Context& context) {
  const auto remark = [&context](const std::string& text) { context.err << "Note: " << text << '\n'; };
  if (!result.remark.empty()) remark(result.remark);
  if (result.pictures < static_cast<std::uint64_t>(result.wanted))
    remark(fmt::format("only {}: nothing is shown twice, so the film is shorter than was asked for",
                       count_of(result.pictures, "picture")));
  if (!result.chosen) remark("under two pictures a frame, none to choose between, so it is not steadied");
  if (result.empty > 0)
    remark(fmt::format("{} left out, since nothing was recorded then", count_of(result.empty, "frame")));
  if (result.dark > 0)
    remark(fmt::format("{} left out, since a lamp was off",
                       count_of(static_cast<std::uint64_t>(result.dark), "frame")));
  if (result.bad > 0)
    remark(fmt::format("{} damaged, and left out where there was another", count_of(result.bad, "picture")));
  if (result.gone > 0)
    remark(fmt::format("{} left out, since retention removed them meanwhile",
                       count_of(static_cast<std::uint64_t>(result.gone), "frame")));
  if (result.earlier > 0)
    remark(fmt::format("{} left out whose time had been before (a clock was set back)",
                       count_of(result.earlier, "picture")));
  if (result.resized > 0)
    remark(
        fmt::format("{} of another size than the film, framed in black", count_of(result.resized, "frame")));
  if (result.chosen && !result.steady)
    remark("too little of the picture stood still to take knocks out by it");
  if (result.limited > 0)
    remark(fmt::format("{} too dark or too different to be levelled", count_of(result.limited, "frame")));
  for (const auto& cut : result.cuts)
    remark(fmt::format("cut at {:.1f} s of the film: {}", cut.film_s, cut.why));
}

void print_result(const std::filesystem::path& file, const LapseResult& result, Context& context) {
  boost::json::object object{{"file", shown(file)},
                             {"frames", result.frames},
                             {"length_s", result.length_s},
                             {"bytes", result.bytes},
                             {"width_px", result.width_px},
                             {"height_px", result.height_px},
                             {"first_s", seconds(result.first)},
                             {"last_s", seconds(result.last)},
                             {"speed", result.speed},
                             {"pictures", result.pictures},
                             {"looked_at", result.looked_at},
                             {"damaged", result.bad},
                             {"earlier", result.earlier},
                             {"resized", result.resized},
                             {"empty", result.empty},
                             {"dark", result.dark},
                             {"gone", result.gone},
                             {"wanted", result.wanted},
                             {"chosen", result.chosen},
                             {"remark", base::printable_lines(result.remark)},
                             {"steadied", result.steadied},
                             {"steady", result.steady},
                             {"quieted", result.quieted},
                             {"limited", result.limited},
                             {"lamps", result.lamps},
                             {"rms_spacing_s", result.rms_spacing}};
  std::string span = fmt::format("{:.1f} s to {:.1f} s", seconds(result.first), seconds(result.last));
  if (result.first_at) {
    object["first"] = base::to_rfc3339(*result.first_at + result.first);
    object["last"] = base::to_rfc3339(*result.first_at + result.last);
    span = fmt::format("{} to {}", base::to_rfc3339(*result.first_at + result.first),
                       base::to_rfc3339(*result.first_at + result.last));
  }
  boost::json::array cuts;
  for (const auto& cut : result.cuts)
    cuts.push_back({{"film_s", cut.film_s}, {"at_s", seconds(cut.at)}, {"why", cut.why}});
  object["cuts"] = std::move(cuts);
  context.print(
      object,
      fmt::format("{}: {:.1f} s, {} frames of {}×{} px, {:.1f} MiB\n{}, {:.0f}× as fast, chosen from {}",
                  shown(file), result.length_s, result.frames, result.width_px, result.height_px,
                  static_cast<double>(result.bytes) / (1 << 20), span, result.speed,
                  count_of(result.looked_at > 0 ? result.looked_at : result.pictures, "picture")));
}

base::Result<void> make_film(const LapseArgs& args, Context& context) {
  auto request = request_of(args);
  if (!request) return request.error();
  stop_on_signals();
  auto pictures = PicturesFrom::parse(args.pictures, context, "lapse");
  if (!pictures) return pictures.error();
  std::error_code unknown;
  if (pictures->is_film() && std::filesystem::exists(pictures->what(), unknown) &&
      !std::filesystem::is_regular_file(pictures->what(), unknown)) {
    return Error(ErrorCode::invalid_value, "lapse",
                 fmt::format("\"{}\" is no file", base::printable(pictures->what())),
                 "A film is gone over four times: save the pictures as a file first.");
  }
  request->what =
      pictures->is_film() ? std::filesystem::path(pictures->what()).filename().string() : pictures->what();
  std::filesystem::path file =
      !args.file.empty() ? args.file
                         : std::filesystem::path(std::filesystem::path(request->what).stem().string() +
                                                 "-lapse." + std::string(archive::name_of(request->format)));
  // A link is followed: what it leads to is written.
  std::error_code failed;
  for (int links = 0; links < 40 && std::filesystem::is_symlink(file, failed); ++links)
    file = file.parent_path() / std::filesystem::read_symlink(file, failed);
  if (auto settled = settle_existing(args, file, *request, context); !settled) return settled;
  auto result = archive::make_lapse([&] { return pictures->open(); }, *request, file,
                                    [&context](double share) {
                                      context.show_progress("making the lapse", share);
                                      return !asked_to_stop();
                                    });
  if (!result) return result.error();
  context.end_progress();
  print_result(file, *result, context);
  add_remarks(*result, context);
  return base::ok();
}

}  // namespace

void add_lapse_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "lapse", "Make the short film of a job: the work grows, what does it stands still, the light is even");
  auto args = std::make_shared<LapseArgs>();
  add_pictures_options(*command, args->pictures);
  auto* length = command->add_option("--length", args->length,
                                     "Of the film, up to an hour: 30s, 1:30. 30 s unless given");
  command->add_option("--speed", args->speed, "Instead: how many times as fast as it happened, 300x")
      ->excludes(length);
  command
      ->add_option(
          "--size", args->width_px,
          "Width in px, 64 to 3840, in the shape of the pictures. Unless given as recorded, at most 1920, as "
          "WebP 480")
      ->check(CLI::Range(64, 3840));
  command->add_option("--rate", args->rate, "Frames a second of the film, 1 to 60")
      ->check(CLI::Range(1, 60))
      ->capture_default_str();
  command->add_option("-o,--output", args->file,
                      "The file; .mp4, .webm or .webp. Unless given, NAME-lapse.mp4 where you are");
  command->add_option("--format", args->format, "mp4: H.264; webm: VP9; webp: an animated picture")
      ->check(CLI::IsMember({"mp4", "webm", "webp"}));
  command->add_option("--card", args->card, "A title, shown for 2 s before the film, with the span under it");
  command->add_flag("--lit-only", args->lit_only, "Leave out what was taken while a lamp was off");
  command->add_flag("--clock", args->clock, "Draw into each frame when it was taken");
  command->add_flag("--force", args->force, "Replace the file if it is there");
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = make_film(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
