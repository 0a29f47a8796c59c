// The steps that noise makes of a JPEG's blocks go; what moves, and what is of another light, stays as it
// stands.
#include "vision/lapse_quiet.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace rookery::vision {
namespace {

using Cells = std::vector<std::uint8_t>;
constexpr int kColumns = 20;
constexpr int kRows = 15;

// Light that rises across the picture, with noise, sent in steps of 2; a bright head over columns x to x + 3.
Cells taken(std::mt19937& random, double noise, int x = -10, double light = 1) {
  std::normal_distribution<double> normal(0, noise);
  Cells cells;
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const double value = column >= x && column < x + 4 ? 200 : 60 + 2.37 * column + 0.71 * row;
      cells.push_back(static_cast<std::uint8_t>(
          std::clamp(2 * std::round((light * value + normal(random)) / 2), 0.0, 255.0)));
    }
  }
  return cells;
}

Cells quieted(const Cells& own, const std::vector<Cells>& beside) {
  QuietCells quiet(own);
  for (const auto& cells : beside) quiet.add(cells);
  const auto corrections = quiet.compute_corrections();
  Cells out = own;
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = static_cast<std::uint8_t>(out[i] + corrections[i]);
  return out;
}

double unlike(const Cells& a, const Cells& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += std::abs(a[i] - b[i]);
  return sum / static_cast<double>(a.size());
}

TEST(QuietCells, OfTwoFramesOfTheSameThingNoiseLeavesAThirdAtMost) {
  std::mt19937 random(1);
  double alone = 0;
  double quiet = 0;
  for (int run = 0; run < 20; ++run) {
    const auto frame = [&] {
      std::vector<Cells> beside;
      for (int i = 0; i < 26; ++i) beside.push_back(taken(random, 0.25));
      const Cells own = taken(random, 0.25);
      return std::pair(own, quieted(own, beside));
    };
    const auto [a, quiet_a] = frame();
    const auto [b, quiet_b] = frame();
    alone += unlike(a, b);
    quiet += unlike(quiet_a, quiet_b);
  }
  EXPECT_GT(alone, 20 * 0.15) << "else there is nothing to take out";
  EXPECT_LT(quiet, alone / 3);
}

TEST(QuietCells, AloneItIsAsItWas) {
  std::mt19937 random(2);
  const Cells own = taken(random, 1);
  EXPECT_EQ(quieted(own, {}), own);
}

// A head that passes leaves neither itself nor a hole, and stands as sharply as it stood.
TEST(QuietCells, WhatMovesStandsAsInTheFrame) {
  std::mt19937 random(3);
  const Cells own = taken(random, 0, 8);
  std::vector<Cells> beside;
  for (const int x : {0, 2, 4, 6, 7, 9, 10, 12, 14, 16}) beside.push_back(taken(random, 0, x));
  EXPECT_EQ(quieted(own, beside), own);
}

TEST(QuietCells, AnotherLightOrAnotherViewIsNotTaken) {
  std::mt19937 random(4);
  const Cells own = taken(random, 0.3);
  QuietCells quiet(own);
  EXPECT_FALSE(quiet.add(taken(random, 0.3, -10, 0.9)));
  Cells other = own;
  std::ranges::reverse(other);
  EXPECT_FALSE(quiet.add(other));
  EXPECT_FALSE(quiet.add(std::span(own).first(own.size() - 1)));
  EXPECT_EQ(quiet.taken(), 0u);
  EXPECT_TRUE(std::ranges::all_of(quiet.compute_corrections(), [](int by) { return by == 0; }));
}

TEST(QuietCells, EveryValueWasSeenThere) {
  std::mt19937 random(5);
  for (int run = 0; run < 50; ++run) {
    std::vector<Cells> all;
    for (int i = 0; i < 1 + run % 9; ++i)
      all.push_back(taken(random, 0.2 * (run % 12), static_cast<int>(random() % 20)));
    const Cells out = quieted(all.front(), {all.begin() + 1, all.end()});
    for (std::size_t i = 0; i < out.size(); ++i) {
      EXPECT_TRUE(std::ranges::any_of(all, [&](const Cells& cells) { return cells[i] == out[i]; }));
      EXPECT_LE(std::abs(out[i] - all.front()[i]), 3);
    }
  }
}

TEST(QuietCells, CorrectionsReachTheirOwnPixelsWhateverTheSizes) {
  for (const auto& [width, height, picture_width, picture_height] :
       {std::array{64, 48, 64, 48}, {30, 22, 60, 44}, {100, 36, 50, 18}, {62, 46, 61, 45}}) {
    const int columns = (picture_width + 7) / 8;
    const int rows = (picture_height + 7) / 8;
    for (int cell = 0; cell < columns * rows; ++cell) {
      std::vector<std::int8_t> corrections(static_cast<std::size_t>(columns * rows));
      corrections[static_cast<std::size_t>(cell)] = -2;
      std::vector<std::uint8_t> luma(static_cast<std::size_t>(width * height), 100);
      apply_corrections(corrections, picture_width, picture_height, true,
                        {luma.data(), width, height, width});
      for (int y = 0; y < height; ++y) {
        for (int x = 0; x < width; ++x) {
          const bool inside = x * picture_width / width / 8 == cell % columns &&
                              y * picture_height / height / 8 == cell / columns;
          ASSERT_EQ(luma[static_cast<std::size_t>(y * width + x)], inside ? 98 : 100)
              << x << ' ' << y << ' ' << cell;
        }
      }
    }
  }
}

TEST(QuietCells, BlackAndWhiteStayWithinTheScale) {
  std::vector<std::uint8_t> luma(64, 254);
  const std::vector<std::int8_t> brighter{3};
  apply_corrections(brighter, 8, 8, false, {luma.data(), 8, 8, 8});
  EXPECT_EQ(luma.front(), 255);
}

}  // namespace
}  // namespace rookery::vision
