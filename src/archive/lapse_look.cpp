#include "archive/lapse_look.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "jpeg/luma_grid.h"
#include "jpeg/walk.h"
#include "vision/exposure.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using base::Microseconds;

constexpr int kColumns = 40;  // of a thumbnail
constexpr int kFewestRows = 8;
constexpr int kMostRows = 90;
// Pictures that are looked at lie so close at most: more choice than some thirty in a window makes no
// smoother film, and each costs a reading.
constexpr double kPerFrame = 40;
constexpr double kSizeEvery = 1.0 / 16;  // of the span: where a picture's size is looked at beforehand
constexpr int kMostFrames = 90'000;      // an hour at 25 a second

double seconds(Microseconds time) { return std::chrono::duration<double>(time).count(); }

Error stopped() { return {ErrorCode::cancelled, "lapse", "stopped before it was whole"}; }

// The grid, averaged down to a thumbnail.
void shrink(const jpeg::LumaGrid& grid, int rows, std::vector<std::uint8_t>& out) {
  out.resize(static_cast<std::size_t>(kColumns) * static_cast<std::size_t>(rows));
  auto* to = out.data();
  for (int y = 0; y < rows; ++y) {
    const int top = y * grid.height / rows;
    const int bottom = std::max(top + 1, (y + 1) * grid.height / rows);
    for (int x = 0; x < kColumns; ++x) {
      const int left = x * grid.width / kColumns;
      const int right = std::max(left + 1, (x + 1) * grid.width / kColumns);
      int sum = 0;
      for (int row = top; row < bottom; ++row) {
        const auto* cells = grid.cells.data() + static_cast<std::ptrdiff_t>(row) * grid.width;
        for (int column = left; column < right; ++column) sum += cells[column];
      }
      const int count = (bottom - top) * (right - left);
      *to++ = static_cast<std::uint8_t>((sum + count / 2) / count);
    }
  }
}

Error none_decodable(std::uint64_t pictures) {
  return {
      ErrorCode::not_found, "lapse",
      fmt::format("none of the {} pictures looked at can be decoded", pictures),
      "for a recording, rookery archive check tells what is damaged; for a file, ffprobe tells whether it is "
      "motion JPEG"};
}

std::optional<camera::PixelSize> size_of(std::span<const std::byte> jpeg) {
  const auto walked = jpeg::walk(jpeg);
  const auto* info = std::get_if<jpeg::PictureInfo>(&walked);
  if (info == nullptr) return std::nullopt;
  return camera::PixelSize{info->width_px, info->height_px};
}

// Which size the film takes: that of the first picture, unless under a third have it; one damaged or odd
// picture must not decide it. Then that which most have.
class SizeVotes {
 public:
  void add(std::span<const std::byte> jpeg) {
    const auto found = size_of(jpeg);
    if (!found) return;
    const std::pair size(found->width_px, found->height_px);
    if (all_++ == 0) first_ = size;
    ++votes_[size];
  }
  std::optional<camera::PixelSize> most() const {
    if (all_ == 0) return std::nullopt;
    auto chosen = votes_.find(first_);
    if (3 * chosen->second < all_) {
      chosen = std::max_element(votes_.begin(), votes_.end(),
                                [](const auto& a, const auto& b) { return a.second < b.second; });
    }
    return camera::PixelSize{chosen->first.first, chosen->first.second};
  }

 private:
  std::map<std::pair<int, int>, int> votes_;
  std::pair<int, int> first_;
  int all_ = 0;
};

// Takes a span's pictures one by one to the chooser. One user, once.
class Looker {
 public:
  Looker(vision::LapseSlots slots) : slots_(slots), least_(slots.every_s / kPerFrame) {}

  // A picture that cannot be read or decoded is counted and left out.
  base::Result<void> see(PictureSource& source, Microseconds at);
  base::Result<LapseLook> finish(bool lit_only);

 private:
  base::Result<void> begin(const jpeg::LumaGrid& grid);
  bool wanted(double at_s) const;

  const vision::LapseSlots slots_;
  const double least_;  // s
  std::optional<vision::LapseChooser> chooser_;
  std::vector<Microseconds> seen_;  // as the chooser counts them
  std::vector<bool> damaged_;       // likewise
  jpeg::LumaGrid grid_;
  std::vector<std::uint8_t> cells_;
  double last_s_ = -1e9;
  std::uint64_t undecodable_ = 0;
  SizeVotes sizes_;
  LapseLook look_;
};

// Where neither window of the slots beside it holds it, a picture need not be read.
bool Looker::wanted(double at_s) const {
  if (at_s - last_s_ < least_) return false;
  const double slot = (at_s - slots_.first_s) / slots_.every_s;
  return std::abs(slot - std::round(slot)) <= vision::LapseOptions{}.window + 1e-6;
}

base::Result<void> Looker::begin(const jpeg::LumaGrid& grid) {
  vision::LapseOptions options;
  options.width = kColumns;
  options.height = std::clamp(kColumns * grid.height / std::max(grid.width, 1), kFewestRows, kMostRows);
  options.slots = slots_;
  auto chooser = vision::LapseChooser::make(options);
  if (!chooser) return std::move(chooser).error();
  look_.columns = options.width;
  look_.rows = options.height;
  chooser_.emplace(std::move(*chooser));
  return base::ok();
}

base::Result<void> Looker::see(PictureSource& source, Microseconds at) {
  const double at_s = seconds(at);
  if (!wanted(at_s)) return base::ok();
  auto bytes = source.read();
  if (!bytes || !jpeg::compute_luma_grid(*bytes, grid_)) {
    ++undecodable_;
    return base::ok();
  }
  sizes_.add(*bytes);
  if (!chooser_) {
    if (auto begun = begin(grid_); !begun) return begun;
  }
  shrink(grid_, look_.rows, cells_);
  const vision::Clipping clipping = vision::compute_clipping(grid_);
  vision::LapsePicture picture;
  picture.at_s = at_s;
  picture.cells = cells_;
  // A JPEG's bytes follow how much detail it holds; a lens out of focus halves its variance well before it
  // halves them.
  const auto size = static_cast<double>(bytes->size());
  picture.sharpness = size * size;
  picture.dark_share = clipping.dark;
  picture.bright_share = clipping.bright;
  picture.usable = !grid_.damaged;
  if (auto added = chooser_->add(picture); !added) return added;
  seen_.push_back(at);
  damaged_.push_back(grid_.damaged);
  last_s_ = at_s;
  return base::ok();
}

base::Result<LapseLook> Looker::finish(bool lit_only) {
  look_.looked_at = seen_.size() + undecodable_;
  look_.bad = undecodable_ + static_cast<std::uint64_t>(std::ranges::count(damaged_, true));
  const auto size = sizes_.most();
  if (!chooser_ || !size) return none_decodable(undecodable_);
  look_.size = *size;
  look_.chosen = true;
  auto choice = chooser_->finish();
  if (!choice) return std::move(choice).error();
  const auto before = choice->frames.size();
  if (lit_only) vision::leave_out_dark(*choice);
  look_.dark = static_cast<int>(before - choice->frames.size());
  look_.picks.reserve(choice->frames.size());
  for (const auto& frame : choice->frames) {
    look_.picks.push_back(seen_[frame.picture]);
    if (damaged_[frame.picture]) look_.bad_picks.push_back(seen_[frame.picture]);
  }
  look_.empty = static_cast<int>(choice->empty_slots.size());
  look_.still = vision::still_cells(*choice);
  return std::move(look_);
}

// Calls `each` with the time of every picture that is later than all before it, since the span's first.
base::Result<void> over_pictures(PictureSource& source, const LapseSpan& span,
                                 const std::function<bool(double)>& progress,
                                 const std::function<base::Result<void>(Microseconds)>& each) {
  Microseconds last{-1};
  for (std::uint64_t count = 0;; ++count) {
    auto at = source.step();
    if (!at) return std::move(at).error();
    if (!*at) return base::ok();
    if (count % 16 == 0 && !progress(source.passed())) return stopped();
    const Microseconds since = since_first(span, source, **at);
    if (since <= last) continue;
    last = since;
    if (auto done = each(since); !done) return done;
  }
}

double mean_of(std::span<const std::uint8_t> cells) {
  const double sum = std::accumulate(cells.begin(), cells.end(), 0.0);
  return sum / static_cast<double>(std::max<std::size_t>(cells.size(), 1));
}

// By the same rule as where there is a choice. `taken`: of the picks that could be read, their light; the
// others stay, and are counted as damaged later.
void leave_dark_picks(vision::LapseChoice taken, LapseLook& look) {
  std::vector<bool> dark(look.picks.size());
  for (const auto& frame : taken.frames) dark[frame.picture] = true;
  vision::leave_out_dark(taken);
  for (const auto& frame : taken.frames) dark[frame.picture] = false;
  std::size_t number = 0;
  look.dark = static_cast<int>(std::erase_if(look.picks, [&](Microseconds) { return dark[number++]; }));
}

// Where there is hardly a choice: picture by number, evenly.
base::Result<LapseLook> take_evenly(PictureSource& source, const LapseSpan& span, int frames, bool lit_only,
                                    const std::function<bool(double)>& progress) {
  LapseLook look;
  SizeVotes sizes;
  vision::LapseChoice taken;  // for its light alone
  jpeg::LumaGrid grid;
  std::uint64_t count = 0;
  const auto wanted = static_cast<std::uint64_t>(frames);
  auto done = over_pictures(source, span, progress, [&](Microseconds at) -> base::Result<void> {
    if (count++ * wanted / span.pictures < look.picks.size()) return base::ok();
    auto bytes = source.read();
    if (bytes) sizes.add(*bytes);
    if (lit_only && bytes && jpeg::compute_luma_grid(*bytes, grid))
      taken.frames.push_back({.picture = look.picks.size(), .light = mean_of(grid.cells)});
    look.picks.push_back(at);
    return base::ok();
  });
  if (!done) return std::move(done).error();
  const auto size = sizes.most();
  if (!size) return none_decodable(look.picks.size());
  look.size = *size;
  if (lit_only) leave_dark_picks(std::move(taken), look);
  return look;
}

// One that cannot be read says nothing.
void note_size(PictureSource& source, std::vector<camera::PixelSize>& sizes) {
  const auto bytes = source.read();
  if (!bytes) return;
  const auto size = size_of(*bytes);
  if (size && std::ranges::find(sizes, *size) == sizes.end()) sizes.push_back(*size);
}

}  // namespace

base::Result<LapseSpan> measure_span(PictureSource& source, const std::function<bool(double)>& progress) {
  LapseSpan span;
  Microseconds last{-1};
  double read_from = 0;  // the share of the way from which on the next one is read
  for (std::uint64_t count = 0;; ++count) {
    auto at = source.step();
    if (!at) return std::move(at).error();
    if (!*at) break;
    if (**at > last) {
      last = **at;
      ++span.pictures;
    } else {
      ++span.earlier;
    }
    if (source.passed() >= read_from) {
      note_size(source, span.sizes);
      read_from = source.passed() + kSizeEvery;
    }
    if (count % 256 == 0 && !progress(source.passed())) return stopped();
  }
  span.last = std::max(last, Microseconds{0});
  span.first_at = source.first_at();
  span.remark = source.remark();
  return span;
}

Microseconds since_first(const LapseSpan& span, const PictureSource& source, Microseconds at) {
  const auto first = source.first_at();
  return first && span.first_at ? at + (*first - *span.first_at) : at;
}

base::Result<int> count_frames(const LapseSpan& span, const LapseRequest& request) {
  const double film_s = request.speed > 0 ? seconds(span.last) / request.speed : request.length_s;
  const double frames = std::round(film_s * request.frames_per_s);
  if (frames > kMostFrames) {
    return Error(ErrorCode::too_large, "lapse",
                 fmt::format("the film would have {:.0f} frames, {:.0f} s; the most is {}", frames, film_s,
                             kMostFrames),
                 "make it shorter, or faster");
  }
  return std::max(1, static_cast<int>(frames));
}

base::Result<LapseLook> choose_pictures(PictureSource& source, const LapseSpan& span, int frames,
                                        bool lit_only, const std::function<bool(double)>& progress) {
  if (span.pictures < 2 * static_cast<std::uint64_t>(frames))
    return take_evenly(source, span, frames, lit_only, progress);
  vision::LapseSlots slots{0, 1, 1};
  if (span.last > Microseconds{0}) {
    auto shared_out = vision::share_out_slots(0, seconds(span.last), frames);
    if (!shared_out) return std::move(shared_out).error();
    slots = *shared_out;
  }
  Looker looker(slots);
  auto done = over_pictures(source, span, progress, [&](Microseconds at) { return looker.see(source, at); });
  if (!done) return std::move(done).error();
  return looker.finish(lit_only);
}

}  // namespace rookery::archive
