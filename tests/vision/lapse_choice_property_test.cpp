// Of any pictures: the row is in order, in its windows, and of all rows there are the one of least cost.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "tests/vision/lapse_shots.h"
#include "vision/lapse_window.h"

namespace rookery::vision {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

// Any pictures: few or many, with gaps, bad ones, noise.
std::vector<Shot> any_shots(std::size_t cells) {
  const auto seed = *rc::gen::arbitrary<std::uint32_t>();
  std::mt19937 random(seed);
  const double pace = *rc::gen::element(0.3, 1.0, 4.0, 15.0);
  const int count = *rc::gen::inRange(1, 120);
  std::vector<Shot> shots;
  double at = std::uniform_real_distribution<double>(-20, 20)(random);
  for (int i = 0; i < count; ++i) {
    at += std::exponential_distribution<double>(1 / pace)(random) + 1e-6;
    Shot shot{at, {}, 0, 0, true};
    const unsigned base = random() % 200;
    for (std::size_t c = 0; c < cells; ++c)
      shot.cells.push_back(static_cast<std::uint8_t>(base + random() % 56));
    shot.usable = random() % 5 != 0;
    shot.sharpness = static_cast<double>(random() % 100);
    shots.push_back(std::move(shot));
  }
  return shots;
}

RC_GTEST_PROP(LapseChoice, IsInOrderAndInItsWindows, ()) {
  const auto shots = any_shots(16);
  LapseOptions o = options_of(4, 4, *rc::gen::inRange(1, 30), *rc::gen::element(3.0, 10.0, 25.0));
  o.window = *rc::gen::element(0.1, 0.4, 0.499);
  o.most_in_window = *rc::gen::inRange(2, 12);
  o.rule = *rc::gen::element(LapseRule::likest, LapseRule::even, LapseRule::middle);
  const auto choice = choose(o, shots);
  if (!choice) {
    RC_ASSERT(choice.error().code == base::ErrorCode::not_found);
    return;
  }
  const LapseFrame* before = nullptr;
  for (const LapseFrame& frame : choice.value().frames) {
    RC_ASSERT(frame.picture < shots.size());
    RC_ASSERT(frame.at_s == shots[frame.picture].at_s);
    RC_ASSERT(frame.slot >= 0 && frame.slot < o.slots.count);
    RC_ASSERT(std::abs(frame.at_s - frame.slot * o.slots.every_s) <= o.window * o.slots.every_s + 1e-9);
    if (before != nullptr) {
      RC_ASSERT(before->at_s < frame.at_s);
      RC_ASSERT(before->slot < frame.slot);
      RC_ASSERT(before->picture < frame.picture);
    }
    before = &frame;
  }
  RC_ASSERT(choice.value().frames.size() + choice.value().empty_slots.size() ==
            static_cast<std::size_t>(o.slots.count));
}

RC_GTEST_PROP(LapseChoice, CostsNoMoreThanByTheOtherRules, ()) {
  const auto shots = any_shots(16);
  LapseOptions o = options_of(4, 4, 20);
  const auto likest = choose(o, shots);
  o.rule = LapseRule::even;
  const auto even = choose(o, shots);
  o.rule = LapseRule::middle;
  const auto middle = choose(o, shots);
  RC_ASSERT(bool(likest) == bool(even) && bool(likest) == bool(middle));
  if (!likest) return;
  RC_ASSERT(likest.value().cost <= even.value().cost + 1e-6);
  RC_ASSERT(likest.value().cost <= middle.value().cost + 1e-6);
}

// The cost as the header says it, of every row there is.
class EveryRow {
 public:
  EveryRow(const LapseOptions& options, const std::vector<Shot>& shots) : o_(options) {
    for (const Shot& shot : shots) {
      const int slot = static_cast<int>(std::lround(shot.at_s / o_.slots.every_s));
      if (windows_.empty() || windows_.back().slot() != slot) windows_.emplace_back(slot, shot.cells.size());
      windows_.back().take({.at_s = shot.at_s, .cells = shot.cells}, 0, static_cast<int>(shot.at_s * 100));
    }
    for (LapseWindow& window : windows_) window.close();
    for (std::size_t k = 0; k < windows_.size(); ++k) {
      const auto some = [&](std::size_t from, std::size_t to) {
        std::vector<const LapseWindow*> out;
        for (std::size_t i = from; i < std::min(to, windows_.size()); ++i) out.push_back(&windows_[i]);
        return out;
      };
      const std::size_t first = k < 3 ? 0 : k - 3;
      grown_.push_back(grown_cells(some(first, k), some(k, k + 3)));
      learn_head(windows_[k], some(first, k + 4), grown_.back());
    }
  }

  double least() {
    least_ = kInfinity;
    go_on(0, 0, 0);
    return least_;
  }

 private:
  double pair(std::size_t k, std::size_t i, std::size_t j) const {
    const LapseWindow& a = windows_[k - 1];
    const LapseWindow& b = windows_[k];
    double unlike = 0;
    double moving = 0;
    const auto cells = grown_[k].size();
    for (std::size_t c = 0; c < cells; ++c) {
      if (grown_[k][c] != 0) continue;
      unlike += std::min(40.0, std::abs(a.cells(i)[c] - b.cells(j)[c]) / 8.0);
      moving += std::max(a.spread()[c], b.spread()[c]) > 16 ? 1 : 0;
    }
    unlike /= std::max(moving, 0.05 * static_cast<double>(cells));
    const double off =
        (b.pictures()[j].at_s - a.pictures()[i].at_s) / o_.slots.every_s - (b.slot() - a.slot());
    const double stops = std::abs(std::log2(b.pictures()[j].light / a.pictures()[i].light));
    return unlike + o_.weights.spacing * off * off + o_.weights.light * std::min(2.0, stops);
  }
  void go_on(std::size_t k, std::size_t from, double cost) {
    if (k == windows_.size()) {
      least_ = std::min(least_, cost);
      return;
    }
    for (std::size_t j = 0; j < windows_[k].size(); ++j) {
      const double more = o_.weights.head * windows_[k].pictures()[j].head_share;
      go_on(k + 1, j, cost + more + (k == 0 ? 0 : pair(k, from, j)));
    }
  }
  LapseOptions o_;
  std::vector<LapseWindow> windows_;
  std::vector<std::vector<std::uint8_t>> grown_;
  double least_ = 0;
};

RC_GTEST_PROP(LapseChoice, OfAllRowsThereIsNoneOfLessCost, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  std::vector<Shot> shots;
  for (int slot = 0; slot < 5; ++slot) {
    for (int i = 0; i < 4; ++i) {
      if (slot == 2 && i > 1) continue;
      Shot shot{10 * slot + 2 * i - 3 + 0.1 * (static_cast<double>(random() % 9)), {}, 0, 0, true};
      const unsigned base = 40 + random() % 100;
      for (int c = 0; c < 16; ++c) shot.cells.push_back(static_cast<std::uint8_t>(base + random() % 80));
      shots.push_back(std::move(shot));
    }
  }
  LapseOptions o = options_of(4, 4, 5);
  const auto choice = choose(o, shots);
  RC_ASSERT(bool(choice));
  const double least = EveryRow(o, shots).least();
  RC_ASSERT(std::abs(choice.value().cost - least) < 1e-6 * least);
}

}  // namespace
}  // namespace rookery::vision
