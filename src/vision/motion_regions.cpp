// Regions of a MotionDetector: connected cells, their tracks, and whether light alone can explain them.
#include <algorithm>
#include <cmath>

#include "vision/motion_detector.h"
#include "vision/motion_numbers.h"

namespace rookery::vision {

using namespace motion;

namespace {
constexpr std::string_view kLight = "light";

// How far a thing has gone from one box to the other, in cells: one that only grows, shrinks or trembles has
// not.
int moved_on(const CellBox& from, const CellBox& to) {
  const auto by = [](int low, int high) {
    return (low > 0) == (high > 0) ? std::min(std::abs(low), std::abs(high)) : 0;
  };
  return std::max(by(to.x - from.x, to.x + to.width - from.x - from.width),
                  by(to.y - from.y, to.y + to.height - from.y - from.height));
}
}  // namespace

bool MotionDetector::is_at_edge(const CellBox& box) const {
  return box.x == 0 || box.y == 0 || box.x + box.width == width_ || box.y + box.height == height_;
}

void MotionDetector::find_regions(const jpeg::LumaGrid& grid, double dt_s) {
  std::swap(label_, label_before_);
  std::swap(tracks_, tracks_before_);
  std::ranges::fill(label_, std::uint16_t{0});
  tracks_.clear();
  counting_.clear();
  if (frame_.energy == 0 && std::ranges::none_of(activity_, [](auto a) { return a >= kActive; })) return;
  const double least_cells =
      std::max<double>(kLeastCells, sensitivity_.least_share() * static_cast<double>(background_.size()));
  for (std::size_t seed = 0; seed < activity_.size() && tracks_.size() < kMostRegions; ++seed) {
    if (activity_[seed] < kActive || label_[seed] != 0) continue;
    const auto label = static_cast<std::uint16_t>(tracks_.size() + 1);
    Found found = flood(seed, label);
    if (found.region.cells < kLeastCells) {
      // Its label is used again: what is too small is no region of the next picture's tracks either.
      for (const std::uint32_t cell : stack_) label_[cell] = kTooSmall;
      continue;
    }
    follow(found);
    found.region.began = frame_.at - std::chrono::duration_cast<base::Microseconds>(
                                         std::chrono::duration<double>(found.age_s));
    found.region.why = settled(why_not(grid, label, found, least_cells), dt_s);
    found.region.counts = found.region.why.empty();
    counting_.push_back(found.region.counts ? 1 : 0);
    if (found.region.counts) {
      frame_.moving_cells += found.fresh_cells;
      frame_.now_cells += found.now_cells;
    }
    frame_.regions.push_back(found.region);
  }
  leave_out_spill();
  std::ranges::sort(frame_.regions, std::ranges::greater{}, &MovingRegion::cells);
}

// At the threshold noise tips the verdict from picture to picture, and one picture of a cloud is as large as
// a second of somebody. What has been light must be something else for half as long.
std::string_view MotionDetector::settled(std::string_view why, double dt_s) {
  Track& track = tracks_.back();
  if (why == kLight) track.light_s = std::min(track.light_s + dt_s, kMostLight_s);
  if (!why.empty() || track.light_s <= 0) return why;
  track.light_s -= kUnlight * dt_s;
  return kLight;
}

// Where much is light, what little else there is at its borders is light as well.
void MotionDetector::leave_out_spill() {
  unsigned light = 0;
  for (const MovingRegion& region : frame_.regions) light += region.why == kLight ? region.cells : 0;
  if (frame_.moving_cells == 0 || frame_.moving_cells >= kSpill * light) return;
  for (MovingRegion& region : frame_.regions) {
    if (!region.counts) continue;
    region.counts = false;
    region.why = kLight;
  }
  frame_.moving_cells = frame_.now_cells = 0;
}

std::string_view MotionDetector::why_not(const jpeg::LumaGrid& grid, std::uint16_t label, const Found& found,
                                         double least_cells) const {
  const double least_fresh =
      std::max({least_cells, kFreshShare * found.region.cells, kUsualShare * usual_cells_});
  if (found.fresh_cells < least_fresh) return "small";
  if (found.age_s < kLeastAge_s) return "brief";
  if (found.live_cells < std::max(2.0, kLiveCells * found.region.cells)) return "still";
  // A leaf that a gust turns over, where nothing has moved for minutes.
  if (found.region.cells < kSmallThings * least_cells && tracks_.back().moved_on < 1) return "small";
  // Where something has been at work for a minute without a pause and without an event, what shows up and
  // stays where it showed up is the machine's next layer, or a leaf in a gust; who comes comes from
  // somewhere.
  if (found.humming_cells == found.region.cells && tracks_.back().moved_on < kRestlessReach) return "machine";
  if (is_light(grid, label, found.region)) return kLight;
  return {};
}

// Labels the active cells that hang together with `seed` by their sides. They stand in stack_ afterwards.
MotionDetector::Found MotionDetector::flood(std::size_t seed, std::uint16_t label) {
  Found found;
  const auto width = static_cast<std::size_t>(width_);
  const std::size_t stride = width + 2;
  const std::size_t tiles_across = (width + kTile - 1) / kTile;
  int left = width_;
  int right = 0;
  int top = height_;
  int bottom = 0;
  stack_.assign(1, static_cast<std::uint32_t>(seed));
  label_[seed] = label;
  const auto reach = [&](std::size_t cell) {
    if (activity_[cell] < kActive || label_[cell] != 0) return;
    label_[cell] = label;
    stack_.push_back(static_cast<std::uint32_t>(cell));
  };
  for (std::size_t next = 0; next < stack_.size(); ++next) {
    const std::size_t cell = stack_[next];
    const std::size_t x = cell % width;
    const std::size_t y = cell / width;
    left = std::min(left, static_cast<int>(x));
    right = std::max(right, static_cast<int>(x) + 1);
    top = std::min(top, static_cast<int>(y));
    bottom = std::max(bottom, static_cast<int>(y) + 1);
    found.sum_x += static_cast<double>(x);
    found.sum_y += static_cast<double>(y);
    found.age_s = std::max(found.age_s, static_cast<double>(age_s_[(y + 1) * stride + x + 1]));
    found.live_cells += rest_s_[cell] <= kLive_s ? 1 : 0;
    found.humming_cells += humming_s_[y / kTile * tiles_across + x / kTile] >= kHum_s ? 1 : 0;
    const bool fresh = passed_over_[cell] == 0;
    found.fresh_cells += fresh ? 1 : 0;
    found.now_cells += fresh && age_s_[(y + 1) * stride + x + 1] > 0 ? 1 : 0;
    if (x > 0) reach(cell - 1);
    if (x + 1 < width) reach(cell + 1);
    if (y > 0) reach(cell - width);
    if (y + 1 < static_cast<std::size_t>(height_)) reach(cell + width);
  }
  found.region.cells = static_cast<unsigned>(stack_.size());
  found.region.box = {left, top, right - left, bottom - top};
  return found;
}

// The track of most of its cells one picture before; of two regions that come from one, each goes on with it.
void MotionDetector::follow(Found& found) {
  std::array<unsigned, kMostRegions + 1> overlaps{};
  for (const std::uint32_t cell : stack_) {
    const std::uint16_t before = label_before_[cell];
    if (before <= tracks_before_.size()) ++overlaps[before];
  }
  std::size_t best = 0;
  for (std::size_t i = 1; i <= tracks_before_.size(); ++i)
    if (overlaps[i] > 0 && (best == 0 || overlaps[i] > overlaps[best])) best = i;
  const double x = found.sum_x / found.region.cells;
  const double y = found.sum_y / found.region.cells;
  Track track{.number = next_track_,
              .since = frame_.at,
              .x = x,
              .y = y,
              .first_x = x,
              .first_y = y,
              .first_box = found.region.box};
  if (best != 0) {
    track = tracks_before_[best - 1];
    track.travelled += std::hypot(x - track.x, y - track.y);
    track.x = x;
    track.y = y;
    track.moved_on = std::max(track.moved_on, moved_on(track.first_box, found.region.box));
    track.came = track.moved_on >= kRestlessReach && is_at_edge(track.first_box);
  } else {
    ++next_track_;
  }
  found.region.track = track.number;
  found.region.since = track.since;
  found.region.travelled = track.travelled;
  found.region.away = std::hypot(x - track.first_x, y - track.first_y);
  tracks_.push_back(track);
}

// Light leaves the fine structure of what it falls on, as much brighter or darker as the cell itself; a thing
// hides it and brings its own, at its edge if nowhere else.
bool MotionDetector::is_light(const jpeg::LumaGrid& grid, std::uint16_t label,
                              const MovingRegion& region) const {
  if (region.cells < kLightCells) return false;
  const auto line = static_cast<std::size_t>(width_);
  // A band of the mains lights each row by another share: there only what is beside a cell tells.
  const bool is_band = region.box.width >= kBandWidth * width_ && region.box.height <= kBandHeight * height_;
  const double noise = (is_band ? kBandNoise : kFineNoise) * std::sqrt(quantum_ * quantum_ / 12 + 0.25);
  unsigned clipped = 0;
  struct Vote {
    unsigned all = 0;
    unsigned alike = 0;
  } inside, edge;
  const int right = std::min(region.box.x + region.box.width, width_ - 1);
  const int bottom = std::min(region.box.y + region.box.height, height_ - 1);
  for (int y = std::max(region.box.y, 1); y < bottom; ++y) {
    for (int x = std::max(region.box.x, 1); x < right; ++x) {
      const auto cell = static_cast<std::size_t>(y) * width_ + x;
      if (label_[cell] != label || passed_over_[cell] != 0) continue;
      if (grid.cells[cell] >= kClipped && background_[cell] < kClipped) {
        ++clipped;
        continue;
      }
      const auto fine = [&](const std::vector<std::uint8_t>& of) {
        if (is_band) return 2.0 * of[cell] - of[cell - 1] - of[cell + 1];
        return 4.0 * of[cell] - of[cell - 1] - of[cell + 1] - of[cell - line] - of[cell + line];
      };
      const double gain = grid.cells[cell] / std::max(1.0, static_cast<double>(background_[cell]));
      const double expected = gain * fine(before_.cells);
      const bool is_edge = label_[cell - 1] != label || label_[cell + 1] != label ||
                           label_[cell - line] != label || label_[cell + line] != label;
      Vote& vote = is_edge ? edge : inside;
      ++vote.all;
      if (std::abs(fine(grid.cells) - expected) <= kFineTolerance * noise + kFineShare * std::abs(expected))
        ++vote.alike;
    }
  }
  if (inside.all + edge.all < kLightCells) return clipped >= kLightCells;
  return inside.alike >= kLightInside * inside.all && edge.alike >= kLightEdge * edge.all;
}

}  // namespace rookery::vision
