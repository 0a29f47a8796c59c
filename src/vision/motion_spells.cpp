// Machines and other places of a MotionDetector where nothing happens though something moves.
#include <algorithm>
#include <cmath>

#include "vision/motion_detector.h"
#include "vision/motion_numbers.h"

namespace rookery::vision {

using namespace motion;

// Which tiles have been at work without a pause; what moved there meanwhile is a machine's when that was long
// enough, and forgotten when it was not.
void MotionDetector::follow_spells(double dt_s) {
  const auto across = static_cast<std::size_t>((width_ + kTile - 1) / kTile);
  const auto down = static_cast<std::size_t>((height_ + kTile - 1) / kTile);
  const auto width = static_cast<std::size_t>(width_);
  const auto height = static_cast<std::size_t>(height_);
  const auto least = static_cast<float>(std::max(kLeastThreshold, kQuantumMargin * quantum_));
  const auto dt = static_cast<float>(dt_s);
  for (std::size_t tile = 0; tile < changing_.size(); ++tile) {
    const std::size_t left = tile % across * kTile;
    const std::size_t top = tile / across * kTile;
    unsigned changing = 0;
    for (std::size_t y = top; y < std::min(top + kTile, height); ++y)
      for (std::size_t i = y * width + left; i < y * width + std::min(left + kTile, width); ++i)
        changing += std::abs(levelled_[i] - recent_[i]) > least ? 1U : 0U;
    changing_[tile] = changing >= kTileCells ? 1 : 0;
  }
  const auto fades = static_cast<float>(std::exp(-dt_s / kMachineTau_s));
  for (std::size_t tile = 0; tile < changing_.size(); ++tile) {
    const std::size_t x = tile % across;
    const std::size_t y = tile / across;
    bool at_work = false;
    for (std::size_t v = y - (y > 0 ? 1 : 0); v <= std::min(y + 1, down - 1); ++v)
      for (std::size_t u = x - (x > 0 ? 1 : 0); u <= std::min(x + 1, across - 1); ++u)
        at_work = at_work || changing_[v * across + u] != 0;
    paused_s_[tile] = at_work ? 0 : paused_s_[tile] + dt;
    const bool pause = paused_s_[tile] >= kPause_s;
    const float worked = pause ? 0 : working_s_[tile] + dt;
    Spell spell{.dt_s = dt, .fades = fades};
    spell.begins = worked < kBegin_s;
    spell.over = pause || std::fmod(worked, kSpell_s) < dt;
    spell.proven = std::max(worked, working_s_[tile]) >= kSpell_s;
    working_s_[tile] = worked;
    for (std::size_t row = y * kTile; row < std::min((y + 1) * kTile, height); ++row)
      for (std::size_t i = row * width + x * kTile; i < row * width + std::min((x + 1) * kTile, width); ++i)
        remember(i, spell);
  }
}

void MotionDetector::remember(std::size_t cell, const Spell& spell) {
  if (activity_[cell] >= kActive && rest_s_[cell] <= kMoving_s)
    (spell.begins || !counts(cell) ? spell_s_ : counted_s_)[cell] += spell.dt_s;
  if (spell.over) {
    if (spell.proven && spell_s_[cell] >= kSpellCell_s)
      machine_s_[cell] += spell_s_[cell];
    else
      passing_s_[cell] += spell_s_[cell] + counted_s_[cell];
    spell_s_[cell] = counted_s_[cell] = 0;
  }
  const float all = machine_s_[cell] + passing_s_[cell];
  const float less = all > kMostMoved_s ? spell.fades * kMostMoved_s / all : spell.fades;
  machine_s_[cell] *= less;
  passing_s_[cell] *= less;
}

void MotionDetector::spread_restless() {
  std::ranges::fill(passed_over_, std::uint8_t{0});
  for (int y = 0; y < height_; ++y) {
    for (int x = 0; x < width_; ++x) {
      const auto cell = static_cast<std::size_t>(y * width_ + x);
      const bool machine =
          machine_s_[cell] >= kMachine_s && machine_s_[cell] >= kMachineShare * passing_s_[cell];
      if (restless_[cell] < kRestless && !machine) continue;
      for (int v = std::max(0, y - kRestlessReach); v <= std::min(height_ - 1, y + kRestlessReach); ++v)
        for (int u = std::max(0, x - kRestlessReach); u <= std::min(width_ - 1, x + kRestlessReach); ++u)
          passed_over_[static_cast<std::size_t>(v * width_ + u)] = 1;
    }
  }
}

}  // namespace rookery::vision
