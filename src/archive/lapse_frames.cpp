#include "archive/lapse_frames.h"

#include <algorithm>
#include <cmath>
#include <ctime>

#include "archive/film_text.h"
#include "archive/lapse_size.h"
#include "base/printable.h"
#include "jpeg/luma_grid.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using base::Microseconds;

double seconds(Microseconds time) { return std::chrono::duration<double>(time).count(); }

constexpr std::size_t kMostCard = 400;  // characters: more than three lines hold, and little to lay out
// Of a longer film, ten minutes at 25 a second, less is remembered of each frame: so the samples are
// 330 MB at most up to there, and 490 MB of the most frames that a film may have.
constexpr std::size_t kMostFine = 15'000;
constexpr int kWhite = 235;  // limited range
constexpr double kCardLight = 0.3;
constexpr double kClockLight = 0.45;

vision::PictureView view_of(AVFrame& frame) {
  const auto plane = [&frame](int which, int width, int height) {
    return vision::PlaneView{frame.data[which], width, height, frame.linesize[which]};
  };
  vision::PictureView view;
  view.luma = plane(0, frame.width, frame.height);
  view.blue = plane(1, frame.width / 2, frame.height / 2);
  view.red = plane(2, frame.width / 2, frame.height / 2);
  view.full_range = false;
  return view;
}

jpeg::LumaPlane luma_of(const AVFrame& frame) {
  jpeg::LumaPlane plane;
  plane.width_px = frame.width;
  plane.height_px = frame.height;
  plane.pixels.reserve(static_cast<std::size_t>(frame.width) * static_cast<std::size_t>(frame.height));
  for (int y = 0; y < frame.height; ++y) {
    const std::uint8_t* row = frame.data[0] + static_cast<std::ptrdiff_t>(y) * frame.linesize[0];
    plane.pixels.insert(plane.pixels.end(), row, row + frame.width);
  }
  return plane;
}

// As the computer's own zone has it: whoever looks at the film was there.
std::string local_text(base::WallTime at, const char* format) {
  const std::time_t time = std::chrono::system_clock::to_time_t(
      std::chrono::system_clock::time_point(std::chrono::floor<std::chrono::seconds>(at.time_since_epoch())));
  std::tm parts{};
  ::localtime_r(&time, &parts);
  std::array<char, 64> text{};
  return {text.data(), std::strftime(text.data(), text.size(), format, &parts)};
}

std::string elapsed_text(Microseconds time) {
  const std::int64_t all = time.count() / 1'000'000;
  return fmt::format("{}:{:02}:{:02}", all / 3600, all / 60 % 60, all % 60);
}

// yuv420p planes from one picture into another of the same size.
void shift_picture(AVFrame& from, const vision::SteadyFrame& by, AVFrame& to) {
  const vision::PictureView source = view_of(from);
  const vision::PictureView target = view_of(to);
  vision::take_back(source.luma, by.dx_px, by.dy_px, by.turn_deg, target.luma);
  vision::take_back(source.blue, by.dx_px / 2, by.dy_px / 2, by.turn_deg, target.blue);
  vision::take_back(source.red, by.dx_px / 2, by.dy_px / 2, by.turn_deg, target.red);
}

LibavPtr<AVFrame> copy_of(const AVFrame& frame) {
  LibavPtr<AVFrame> copy(av_frame_alloc());
  if (!copy) throw std::bad_alloc();
  copy->width = frame.width;
  copy->height = frame.height;
  copy->format = frame.format;
  if (av_frame_get_buffer(copy.get(), 0) < 0 || av_frame_copy(copy.get(), &frame) < 0 ||
      av_frame_copy_props(copy.get(), &frame) < 0)
    throw std::bad_alloc();
  return copy;
}

}  // namespace

bool LapseFrames::coarse() const { return look_.picks.size() > kMostFine; }

base::Result<void> LapseFrames::begin() {
  const auto size = film_size(look_.size, look_.picks.size(), request_);
  if (!size) return size.error();
  fitter_.emplace();
  if (auto begun = fitter_->begin(look_.size, *size); !begun) return begun;
  result_.width_px = size->width_px;
  result_.height_px = size->height_px;
  return base::ok();
}

// Null when it cannot be decoded.
AVFrame* LapseFrames::fitted(const Group& group) {
  if (group.picture.empty()) return nullptr;
  auto picture = fitter_->fit(group.picture);
  if (!picture) return nullptr;
  resized_ += picture->resized ? 1 : 0;
  if (!group.beside.empty() && !picture->resized) quiet(group, *picture->frame);
  return picture->frame;
}

void LapseFrames::quiet(const Group& group, AVFrame& frame) {
  jpeg::LumaGrid grid;
  if (!jpeg::compute_luma_grid(group.picture, grid) || grid.damaged) return;
  vision::QuietCells cells(grid.cells);
  for (const auto& other : group.beside) cells.add(other);
  if (cells.taken() == 0) return;
  ++quieted_;
  const auto corrections = cells.compute_corrections();
  vision::apply_corrections(corrections, look_.size.width_px, look_.size.height_px, true,
                            view_of(frame).luma);
}

base::Result<void> LapseFrames::hand_on(
    const Group& group, const std::function<base::Result<void>(std::size_t, AVFrame*)>& each) {
  AVFrame* picture = fitted(group);
  // Those that are no longer there: retention goes on meanwhile.
  if (!group.found) {
    ++gone_;
  } else if (picture == nullptr && !std::ranges::binary_search(look_.bad_picks, look_.picks[group.pick])) {
    ++found_bad_;  // what was seen to be damaged when it was looked at is counted already
  }
  return each(group.pick, picture);
}

base::Result<void> LapseFrames::over_picks(
    PictureSource& source, const std::function<bool(double)>& progress,
    const std::function<base::Result<void>(std::size_t, AVFrame*)>& each) {
  const auto& picks = look_.picks;
  resized_ = gone_ = quieted_ = 0;
  found_bad_ = 0;
  Microseconds last{-1};
  auto beside = beside_.begin();
  jpeg::LumaGrid grid;
  Group group;
  // The groups before `pick` are whole.
  const auto until = [&](std::size_t pick) -> base::Result<void> {
    while (group.pick < pick) {
      if (auto done = hand_on(group, each); !done) return done;
      group = Group{group.pick + 1};
      if (!progress(static_cast<double>(group.pick) / static_cast<double>(picks.size())))
        return Error(ErrorCode::cancelled, request_.what + ": lapse", "stopped before it was whole");
    }
    return base::ok();
  };
  for (;;) {
    auto at = source.step();
    if (!at) return std::move(at).error();
    if (!*at) return until(picks.size());
    const Microseconds since = since_first(span_, source, **at);
    if (since <= last) continue;
    last = since;
    if (finder_) finder_->see(since);
    while (beside != beside_.end() && beside->at < since) ++beside;
    const bool is_beside = beside != beside_.end() && beside->at == since;
    const auto pick = std::ranges::lower_bound(picks, since);
    const bool is_pick = pick != picks.end() && *pick == since;
    if (!is_beside && !is_pick) continue;
    const std::size_t of = is_beside ? beside->pick : static_cast<std::size_t>(pick - picks.begin());
    if (auto done = until(of); !done) return done;
    group.found = group.found || is_pick;
    auto bytes = source.read();
    if (!bytes) continue;
    if (is_pick) {
      group.picture.assign(bytes->begin(), bytes->end());
    } else if (jpeg::compute_luma_grid(*bytes, grid) && !grid.damaged) {
      group.beside.push_back(grid.cells);
    }
  }
}

void LapseFrames::steady(const AVFrame& picture, Microseconds at) {
  if (!steadier_tried_) {
    steadier_tried_ = true;
    if (look_.still.empty()) return;
    if (auto made =
            vision::Steadier::make(picture.width, picture.height, look_.still, look_.columns, look_.rows))
      steadier_.emplace(std::move(*made));
  }
  if (!steadier_) return;
  // Another size cannot come: they are all fitted.
  if (auto added = steadier_->add(luma_of(picture), seconds(at)); !added) steadier_.reset();
}

base::Result<void> LapseFrames::measure(PictureSource& source, const std::function<bool(double)>& progress) {
  if (auto begun = begin(); !begun) return begun;
  plans_.assign(look_.picks.size(), {});
  finder_.emplace(look_.picks);
  auto done = over_picks(source, progress, [this](std::size_t pick, AVFrame* picture) -> base::Result<void> {
    if (picture == nullptr) return base::ok();
    auto sample = vision::sample_levels(view_of(*picture), coarse());
    if (!sample) return std::move(sample).error();
    samples_.push_back(std::move(*sample));
    plans_[pick].shown = true;
    steady(*picture, look_.picks[pick]);
    return base::ok();
  });
  if (!done) return done;
  beside_ = finder_->take();
  finder_.reset();
  if (samples_.empty()) {
    return Error(
        ErrorCode::not_found, request_.what + ": lapse",
        fmt::format("none of the {} pictures chosen can be decoded", look_.picks.size()),
        "for a recording, rookery archive check tells what is damaged; for a file, ffprobe tells whether it "
        "is motion JPEG");
  }
  result_.steady = steadier_.has_value();
  result_.gone = gone_;
  result_.bad += found_bad_;
  return plan_levels();
}

base::Result<void> LapseFrames::plan_levels() {
  vision::LevelOptions options;
  options.bands = !coarse();
  auto levels = vision::plan_levels(samples_, options);
  if (!levels) return std::move(levels).error();
  samples_.clear();
  vision::SteadyPlan steady;
  if (steadier_) steady = steadier_->finish();
  std::size_t shown = 0;
  auto cut = steady.cuts.begin();
  for (auto& plan : plans_) {
    if (!plan.shown) continue;
    if (steadier_) plan.steady = steady.frames[shown];
    if (cut != steady.cuts.end() && cut->frame == shown) plan.cut = (cut++)->why;
    plan.level = std::move((*levels)[shown++]);
    result_.steadied += plan.moved() ? 1 : 0;
    result_.limited += plan.level.limited ? 1 : 0;
    result_.lamps += plan.level.lamp_switched ? 1 : 0;
  }
  return base::ok();
}

base::Result<void> LapseFrames::write(PictureSource& source, const std::filesystem::path& file,
                                      const std::function<bool(double)>& progress) {
  const camera::PixelSize size{result_.width_px, result_.height_px};
  film_.emplace(FilmShape(request_.format, size, request_.frames_per_s,
                          request_.card.empty() ? request_.what : request_.card, result_.first_at,
                          request_.what + ": lapse"));
  if (auto begun = film_->begin(file); !begun) return begun;
  bool first = true;
  auto done = over_picks(source, progress, [&](std::size_t pick, AVFrame* picture) -> base::Result<void> {
    const Plan& plan = plans_[pick];
    if (!plan.shown || picture == nullptr) return base::ok();
    LibavPtr<AVFrame> moved;
    if (plan.moved()) {
      moved = copy_of(*picture);
      shift_picture(*picture, plan.steady, *moved);
      picture = moved.get();
    }
    vision::apply_levels(plan.level, view_of(*picture));
    const Microseconds at = look_.picks[pick];
    if (std::exchange(first, false)) {
      result_.first = at;
      if (auto put = put_card(*picture); !put) return put;
    }
    if (!plan.cut.empty())
      result_.cuts.push_back({static_cast<double>(film_->pictures()) / request_.frames_per_s, at, plan.cut});
    result_.last = at;
    if (request_.clock) put_clock(*picture, at);
    return film_->add(*picture);
  });
  if (!done) return done;
  result_.frames = static_cast<int>(film_->pictures());
  result_.resized = resized_;
  result_.quieted = quieted_;
  return film_->finish();
}

base::Result<void> LapseFrames::put_card(AVFrame& first) {
  if (request_.card.empty()) return base::ok();
  const LibavPtr<AVFrame> card = copy_of(first);
  dim_box(*card, 0, 0, card->width, card->height, kCardLight);
  const int line_px = std::max(10, card->height / 12);
  std::string words = request_.card;
  std::replace_if(
      words.begin(), words.end(), [](char c) { return c == '\n' || c == '\r'; }, ' ');
  words = base::printable(words, kMostCard);
  const TextCover title = pen_.draw(words, line_px, card->width * 9 / 10, 3);
  const Microseconds last = look_.picks.back();
  const std::string span = result_.first_at
                               ? local_text(*result_.first_at + look_.picks.front(), "%Y-%m-%d %H:%M") +
                                     " – " + local_text(*result_.first_at + last, "%Y-%m-%d %H:%M")
                               : elapsed_text(last);
  const TextCover under = pen_.draw(span, std::max(8, line_px / 2), card->width * 9 / 10);
  const int top = (card->height - title.height_px - line_px / 2 - under.height_px) / 2;
  put_text(*card, title, (card->width - title.width_px) / 2, top, kWhite);
  put_text(*card, under, (card->width - under.width_px) / 2, top + title.height_px + line_px / 2, kWhite);
  for (int count = 0; count < kLapseCard_s * request_.frames_per_s; ++count) {
    if (auto added = film_->add(*card); !added) return added;
  }
  return base::ok();
}

void LapseFrames::put_clock(AVFrame& picture, Microseconds at) {
  const std::string text =
      result_.first_at ? local_text(*result_.first_at + at, "%a %H:%M:%S") : elapsed_text(at);
  const int line_px = std::max(10, picture.height / 22);
  const TextCover cover = pen_.draw(text, line_px, picture.width);
  const int margin = line_px / 2;
  const int left = picture.width - cover.width_px - 2 * margin;
  const int top = picture.height - cover.height_px - 2 * margin;
  dim_box(picture, left - margin, top - margin / 2, cover.width_px + 2 * margin, cover.height_px + margin,
          kClockLight);
  put_text(picture, cover, left, top, kWhite);
}

}  // namespace rookery::archive
