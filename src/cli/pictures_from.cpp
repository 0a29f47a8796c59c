#include "cli/pictures_from.h"

#include <charconv>
#include <cmath>

#include "cli/stop_signal.h"

namespace rookery::cli {
namespace {

using base::Error;
using base::ErrorCode;
using base::Microseconds;
using base::WallTime;

constexpr std::chrono::hours kUsualSpan{24};

bool is_file(const std::string& what) {
  std::error_code failed;
  return what.find_first_of("/.") != std::string::npos ||
         (std::filesystem::exists(what, failed) && !std::filesystem::is_directory(what, failed));
}

Error ends_before(const PicturesArgs& args, const std::string& command) {
  return {
      ErrorCode::invalid_value, command,
      fmt::format("the end {} is not after the beginning {}", args.to.empty() ? "(now)" : args.to, args.from),
      "swap them"};
}

base::Result<archive::FilmSpan> film_span(const PicturesArgs& args, const std::string& command) {
  archive::FilmSpan span;
  span.frames_per_s = args.frames_per_s;
  if (!args.from.empty()) {
    auto from = parse_film_time(args.from, command);
    if (!from) return from.error();
    span.from = *from;
  }
  if (!args.to.empty()) {
    auto to = parse_film_time(args.to, command);
    if (!to) return to.error();
    if (*to <= span.from) return ends_before(args, command);
    span.to = *to;
  }
  return span;
}

struct Span {
  WallTime from;
  WallTime to;
};

base::Result<Span> recorded_span(const PicturesArgs& args, const std::string& command) {
  WallTime to = base::SystemClock().wall();
  if (!args.to.empty()) {
    auto parsed = base::parse_rfc3339(args.to);
    if (!parsed) return parsed.error();
    to = *parsed;
  }
  WallTime from = to - kUsualSpan;
  if (!args.from.empty()) {
    auto parsed = base::parse_rfc3339(args.from);
    if (!parsed) return parsed.error();
    from = *parsed;
  }
  if (to <= from) return ends_before(args, command);
  return Span{from, to};
}

}  // namespace

base::Result<Microseconds> parse_film_time(const std::string& text, const std::string& command) {
  const Error wrong(ErrorCode::invalid_value, command, fmt::format("\"{}\" is no time in a film", text),
                    "Give seconds from its first picture, or minutes and seconds: 90, 1:30, 1:02:03.5.");
  double sum = 0;
  const char* at = text.data();
  const char* end = at + text.size();
  for (int parts = 1;; ++parts) {
    double value = 0;
    const auto read = std::from_chars(at, end, value, std::chars_format::fixed);
    if (read.ec != std::errc() || !(value >= 0) || value > 1e9 || parts > 3) return wrong;
    if (parts > 1 && value >= 60) return wrong;
    sum = sum * 60 + value;
    if (read.ptr == end) break;
    if (*read.ptr != ':' || value != std::floor(value)) return wrong;
    at = read.ptr + 1;
  }
  return Microseconds{std::llround(sum * 1e6)};
}

base::Result<PicturesFrom> PicturesFrom::parse(const PicturesArgs& args, const Context& context,
                                               const std::string& command) {
  // Whatever the option's own check makes of "nan".
  if (!(args.frames_per_s >= 1 && args.frames_per_s <= 240)) {
    return Error(ErrorCode::invalid_value, command, fmt::format("{} pictures a second", args.frames_per_s),
                 "Give 1 to 240 with --frames-per-s.");
  }
  PicturesFrom pictures;
  pictures.what_ = args.what;
  if (is_file(args.what)) {
    auto span = film_span(args, command);
    if (!span) return span.error();
    pictures.film_ = *span;
    return pictures;
  }
  if (!base::CameraName::parse(args.what)) {
    return Error(ErrorCode::not_found, command,
                 fmt::format("there is no file \"{}\", and no camera is called so", args.what),
                 "Give a file of motion JPEG or the name of a camera.");
  }
  auto span = recorded_span(args, command);
  if (!span) return span.error();
  pictures.from_ = span->from;
  pictures.to_ = span->to;
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  pictures.catalog_ = std::move(*catalog);
  return pictures;
}

base::Result<std::unique_ptr<archive::PictureSource>> PicturesFrom::open() const {
  if (catalog_) {
    const auto camera = base::CameraName::parse(what_).value();
    auto track = archive::fuller_track(*catalog_, camera, from_, to_);
    if (!track) return std::move(track).error();
    return std::unique_ptr<archive::PictureSource>(
        std::make_unique<archive::RecordedPictures>(*catalog_, camera, from_, to_, *track));
  }
  auto film = archive::FilmReader::open(what_, film_, [] { return !asked_to_stop(); });
  if (!film) return film.error();
  return std::unique_ptr<archive::PictureSource>(std::move(*film));
}

void add_pictures_options(CLI::App& command, PicturesArgs& args) {
  command
      .add_option("FILE|NAME", args.what,
                  "A film of motion JPEG (AVI, Matroska, MP4, a dumped stream), or the name of a camera. "
                  "What holds a / or a dot, or is there, is a file")
      ->required();
  command.add_option("--from", args.from,
                     "Start: 2026-03-01T12:00:00Z, 24 h before the end unless given; in a file seconds from "
                     "its first picture, or 1:30");
  command.add_option("--to", args.to, "End, likewise; now, or the end of the file, unless given");
  command
      .add_option("--frames-per-s", args.frames_per_s,
                  "How many pictures a second a file holds that says no times, 1 to 240")
      ->check(CLI::Range(1.0, 240.0))
      ->capture_default_str();
}

}  // namespace rookery::cli
