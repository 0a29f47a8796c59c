// JobWatch: what changed and stayed: the part that grows.
#include <algorithm>
#include <cmath>

#include "vision/job_body.h"

namespace rookery::vision {
namespace {

constexpr float kOutside = 6;  // grey levels beyond all that a cell showed at first
constexpr std::size_t kSlotStills = 15;
constexpr std::size_t kHistory = 240;       // slots
constexpr std::uint32_t kFirstStills = 24;  // of work: what is there before something grows
constexpr float kMostly = 0.4F;             // of a slot's stills: the head may hide it in the others

}  // namespace

// In most of the last stills, and without an end.
bool JobWatch::Body::works() const {
  const auto last = std::min<std::size_t>(6, active_.size());
  const auto moved =
      std::count(active_.end() - static_cast<std::ptrdiff_t>(last), active_.end(), std::uint8_t{1});
  return last >= 3 && static_cast<std::size_t>(moved) + 1 >= last && !sign(JobSign::finished).stands;
}

// Stills of a slot are those in which it works: what rests would be taken for what grew.
void JobWatch::Body::learn_slot(const Cells& flat) {
  if (!works()) return;
  if (first_stills_ < kFirstStills) return learn_first(flat);
  if (slot_stills_ == 0) slot_from_s_ = at_s_;
  ++slot_stills_;
  for (std::size_t i = 0; i < flat.size(); ++i) {
    const bool outside = flat[i] < lowest_[i] - kOutside || flat[i] > highest_[i] + kOutside;
    outside_[i] = static_cast<std::uint8_t>(std::min(255, outside_[i] + (outside ? 1 : 0)));
  }
  const double slot_s = std::max(60.0, 9 * options_.still_every_s);
  const double each_s = slot_s / static_cast<double>(kSlotStills);
  if (slot_.empty() || at_s_ - slot_from_s_ >= each_s * static_cast<double>(slot_.size())) {
    if (slot_.size() < kSlotStills) slot_.push_back(flat);
  }
  if ((at_s_ - slot_from_s_ >= slot_s && slot_.size() >= 5) || slot_stills_ >= 250) close_slot();
}

// What each cell shows while nothing has grown yet, with the head before it and without.
void JobWatch::Body::learn_first(const Cells& flat) {
  if (first_stills_ == 0) lowest_ = highest_ = flat;
  for (std::size_t i = 0; i < flat.size(); ++i) {
    lowest_[i] = std::min(lowest_[i], flat[i]);
    highest_[i] = std::max(highest_[i], flat[i]);
  }
  ++first_stills_;
}

void JobWatch::Body::close_slot() {
  typical_ = median_of(slot_);
  slot_.clear();
  ++slots_;
  // In the box in which the machine moves: where the part stands nothing does.
  const CellBox box = box_of(machine(), width_, height_);
  const auto is_in = [this](const CellBox& of, std::size_t cell) {
    const int x = static_cast<int>(cell) % width_ - of.x;
    const int y = static_cast<int>(cell) / width_ - of.y;
    return x >= 0 && y >= 0 && x < of.width && y < of.height;
  };
  for (std::size_t i = 0; i < growth_.size(); ++i) {
    const bool grew =
        is_in(box, i) && static_cast<float>(outside_[i]) >= kMostly * static_cast<float>(slot_stills_);
    growth_[i] =
        static_cast<std::uint8_t>(grew ? std::min(255, growth_[i] + 64) : std::max(0, growth_[i] - 16));
  }
  std::fill(outside_.begin(), outside_.end(), std::uint8_t{0});
  slot_stills_ = 0;
  grown_.push_back(static_cast<std::uint32_t>(count_of(grown())));
  if (grown_.size() > kHistory) grown_.erase(grown_.begin());
}

}  // namespace rookery::vision
