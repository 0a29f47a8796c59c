#include "archive/lapse.h"

#include <cmath>

#include "archive/disk.h"
#include "archive/film_writer.h"
#include "archive/lapse_frames.h"
#include "archive/lapse_look.h"
#include "archive/lapse_size.h"
#include "archive/libav.h"
#include "vision/lapse_measures.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;

double seconds(base::Microseconds time) { return std::chrono::duration<double>(time).count(); }

base::Result<void> check(const LapseRequest& request, const std::filesystem::path& file) {
  const std::string where = request.what + ": lapse";
  const auto wrong = [&](std::string detail, std::string remedy) {
    return Error{ErrorCode::invalid_value, where, std::move(detail), std::move(remedy)};
  };
  if (!(request.speed == 0 || (request.speed >= 1 && request.speed <= 1e6)))
    return wrong(fmt::format("{}× as fast", request.speed), "give 1 to 1000000");
  if (request.speed == 0 && !(request.length_s > 0 && request.length_s <= 3600))
    return wrong(fmt::format("a film of {} s", request.length_s), "give more than 0 to 3600 s");
  if (request.frames_per_s < 1 || request.frames_per_s > 60)
    return wrong(fmt::format("{} frames/s", request.frames_per_s), "give 1 to 60");
  if (request.width_px != 0 && (request.width_px < 64 || request.width_px > 3840))
    return wrong(fmt::format("a width of {} px", request.width_px), "give 64 to 3840");
  std::error_code failed;
  if (request.existing == Existing::refuse && std::filesystem::exists(file, failed))
    return Error{ErrorCode::already_exists, where, file.string() + " exists",
                 "give another name, or --force"};
  return base::ok();
}

// Opens the pictures anew and lets `use` go over them.
base::Result<void> with_pictures(const OpenPictures& open,
                                 const std::function<base::Result<void>(PictureSource&)>& use) {
  auto source = open();
  if (!source) return std::move(source).error();
  return use(**source);
}

void measure_spacing(const LapseLook& look, int frames_per_s, LapseResult& result) {
  if (look.picks.size() < 2) return;
  std::vector<double> times;
  times.reserve(look.picks.size());
  for (const auto& pick : look.picks) times.push_back(seconds(pick));
  const double every = (times.back() - times.front()) / static_cast<double>(times.size() - 1);
  result.rms_spacing = vision::rms_spacing(times, every);
  result.speed = (times.back() - times.front()) * frames_per_s / static_cast<double>(times.size());
}

}  // namespace

base::Result<LapseResult> make_lapse(const OpenPictures& open, const LapseRequest& request,
                                     const std::filesystem::path& file,
                                     const std::function<bool(double)>& progress) {
  route_libav_log();
  if (auto sound = check(request, file); !sound) return std::move(sound).error();
  if (auto there = check_encoder(request.format, request.what + ": lapse"); !there)
    return std::move(there).error();
  WholeFile whole(file, request.existing, "lapse");
  if (auto made = whole.make(); !made) return std::move(made).error();
  // Shares of the work, as they were measured for 8 hours at a picture a second.
  const auto part = [&progress](double from, double to) {
    return [&progress, from, to](double share) { return progress(from + (to - from) * share); };
  };
  LapseSpan span;
  auto done = with_pictures(open, [&](PictureSource& source) -> base::Result<void> {
    auto measured = measure_span(source, part(0, 0.03));
    if (!measured) return std::move(measured).error();
    span = *measured;
    return base::ok();
  });
  if (!done) return std::move(done).error();
  auto wanted = count_frames(span, request);
  if (!wanted) return std::move(wanted).error();
  // Nothing is shown twice: a film of few pictures is shorter than was asked for.
  const auto frames =
      static_cast<int>(std::min<std::uint64_t>(static_cast<std::uint64_t>(*wanted), span.pictures));
  // Choosing may take a minute: what cannot be made is said before.
  if (auto sound = check_sizes(span.sizes, static_cast<std::size_t>(frames), request); !sound)
    return std::move(sound).error();
  LapseLook look;
  done = with_pictures(open, [&](PictureSource& source) -> base::Result<void> {
    auto chosen = choose_pictures(source, span, frames, request.lit_only, part(0.03, 0.5));
    if (!chosen) return std::move(chosen).error();
    look = std::move(*chosen);
    return base::ok();
  });
  if (!done) return std::move(done).error();

  LapseResult result;
  result.first_at = span.first_at;
  result.pictures = span.pictures;
  result.earlier = span.earlier;
  result.looked_at = look.looked_at;
  result.bad = look.bad;
  result.empty = look.empty;
  result.dark = look.dark;
  result.wanted = *wanted;
  result.chosen = look.chosen;
  result.remark = span.remark;
  measure_spacing(look, request.frames_per_s, result);
  LapseFrames film(request, span, look, result);
  done = with_pictures(open, [&](PictureSource& source) { return film.measure(source, part(0.5, 0.75)); });
  if (!done) return std::move(done).error();
  done = with_pictures(
      open, [&](PictureSource& source) { return film.write(source, whole.path(), part(0.75, 0.99)); });
  if (!done) return std::move(done).error();
  result.length_s = static_cast<double>(result.frames) / request.frames_per_s;
  std::error_code failed;
  result.bytes = std::filesystem::file_size(whole.path(), failed);
  if (failed) return disk_error(request.what + ": lapse", failed.value());
  if (auto appeared = whole.appear(); !appeared) return std::move(appeared).error();
  progress(1.0);
  return result;
}

}  // namespace rookery::archive
