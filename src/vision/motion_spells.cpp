// Machines and other places of a MotionDetector where nothing happens though something moves.
#include <algorithm>
#include <cmath>

#include "vision/motion_detector.h"
#include "vision/motion_numbers.h"

namespace rookery::vision {

using namespace motion;

template <class Do>
void MotionDetector::for_tile(std::size_t tile, Do&& with_cell) {
  const auto across = static_cast<std::size_t>((width_ + kTile - 1) / kTile);
  const auto width = static_cast<std::size_t>(width_);
  const std::size_t left = tile % across * kTile;
  const std::size_t top = tile / across * kTile;
  const std::size_t right = std::min(left + kTile, width);
  for (std::size_t y = top; y < std::min(top + kTile, static_cast<std::size_t>(height_)); ++y)
    for (std::size_t i = y * width + left; i < y * width + right; ++i) with_cell(i);
}

// In which tiles something changed between this picture and those before.
void MotionDetector::find_changing_tiles() {
  const auto across = static_cast<std::size_t>((width_ + kTile - 1) / kTile);
  const auto width = static_cast<std::size_t>(width_);
  const auto height = static_cast<std::size_t>(height_);
  const auto least = static_cast<float>(std::max(kLeastThreshold, kQuantumMargin * quantum_));
  for (std::size_t tile = 0; tile < changing_.size(); ++tile) {
    const std::size_t left = tile % across * kTile;
    const std::size_t top = tile / across * kTile;
    unsigned changing = 0;
    for (std::size_t y = top; y < std::min(top + kTile, height); ++y)
      for (std::size_t i = y * width + left; i < y * width + std::min(left + kTile, width); ++i)
        changing += std::abs(levelled_[i] - recent_[i]) > least ? 1U : 0U;
    changing_[tile] = changing >= kTileCells ? 1 : 0;
  }
}

// Which tiles have been at work without a pause; what moved there meanwhile is a machine's when that was long
// enough, and passing by when it was not.
void MotionDetector::follow_spells(double dt_s) {
  find_changing_tiles();
  unfaded_s_ += dt_s;
  const auto across = static_cast<std::size_t>((width_ + kTile - 1) / kTile);
  const auto down = static_cast<std::size_t>((height_ + kTile - 1) / kTile);
  const auto dt = static_cast<float>(dt_s);
  for (std::size_t tile = 0; tile < changing_.size(); ++tile) {
    const std::size_t x = tile % across;
    const std::size_t y = tile / across;
    bool at_work = false;
    for (std::size_t v = y - (y > 0 ? 1 : 0); v <= std::min(y + 1, down - 1); ++v)
      for (std::size_t u = x - (x > 0 ? 1 : 0); u <= std::min(x + 1, across - 1); ++u)
        at_work = at_work || changing_[v * across + u] != 0;
    paused_s_[tile] = at_work ? 0 : paused_s_[tile] + dt;
    float& worked = working_s_[tile];
    if (worked == 0 && !at_work) continue;
    const bool pause = paused_s_[tile] >= kPause_s;
    worked += dt;
    const Counted counted = pause ? Counted{} : add_to_spell(tile, worked < kBegin_s, dt);
    const float hums = humming_s_[tile] + (counted.any ? -kUnhum * dt : dt);
    humming_s_[tile] = pause ? 0 : std::clamp(hums, 0.0F, kMostHum_s);
    float& visited = visited_s_[tile];
    visited = counted.came && worked < kArrival_s ? kVisit_s : std::max(visited - dt, 0.0F);
    if (pause || std::fmod(worked, kSpell_s) < dt) {
      const bool lasts = worked >= kSpell_s;
      end_spell(tile, !lasts ? Worker::passing : visited > 0 ? Worker::somebody : Worker::machine);
    }
    if (pause) worked = visited = 0;
  }
}

// What counts when a spell is new may be the machine itself.
MotionDetector::Counted MotionDetector::add_to_spell(std::size_t tile, bool is_new, float dt_s) {
  Counted all;
  for_tile(tile, [&](std::size_t cell) {
    if (activity_[cell] < kActive) return;
    const bool counted = counts(cell);
    all.any = all.any || counted;
    all.came = all.came || (counted && tracks_[label_[cell] - 1U].came);
    if (rest_s_[cell] <= kMoving_s) (is_new || !counted ? spell_s_ : counted_s_)[cell] += dt_s;
  });
  return all;
}

// Of what somebody did who came nothing is remembered: it may be the one or the other.
void MotionDetector::end_spell(std::size_t tile, Worker worker) {
  for_tile(tile, [&](std::size_t cell) {
    if (worker == Worker::machine && spell_s_[cell] >= kSpellCell_s)
      machine_s_[cell] += spell_s_[cell];
    else if (worker != Worker::somebody)
      passing_s_[cell] += spell_s_[cell] + counted_s_[cell];
    spell_s_[cell] = counted_s_[cell] = 0;
  });
}

void MotionDetector::fade_spells() {
  const auto fades = static_cast<float>(std::exp(-unfaded_s_ / kMachineTau_s));
  unfaded_s_ = 0;
  for (std::size_t i = 0; i < machine_s_.size(); ++i) {
    const float less = fades * kMostMoved_s / std::max(kMostMoved_s, machine_s_[i] + passing_s_[i]);
    machine_s_[i] *= less;
    passing_s_[i] *= less;
  }
}

void MotionDetector::spread_restless() {
  fade_spells();
  std::ranges::fill(passed_over_, std::uint8_t{0});
  for (int y = 0; y < height_; ++y) {
    for (int x = 0; x < width_; ++x) {
      const auto cell = static_cast<std::size_t>(y) * width_ + x;
      const bool machine =
          machine_s_[cell] >= kMachine_s && machine_s_[cell] >= kMachineShare * passing_s_[cell];
      if (restless_[cell] < kRestless && !machine) continue;
      for (int v = std::max(0, y - kRestlessReach); v <= std::min(height_ - 1, y + kRestlessReach); ++v)
        for (int u = std::max(0, x - kRestlessReach); u <= std::min(width_ - 1, x + kRestlessReach); ++u)
          passed_over_[static_cast<std::size_t>(v) * width_ + u] = 1;
    }
  }
}

}  // namespace rookery::vision
