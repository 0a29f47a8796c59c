// A machine of few cells for tests of the watch of jobs: a head of 4×4 that goes about over a bed, before a
// wall with some pattern; and a watch that is given its stills.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include "vision/job_watch.h"

namespace rookery::vision {

inline constexpr int kWidth = 56;
inline constexpr int kHeight = 30;

class Machine {
 public:
  // The head's upper left corner; above the picture: it is not to be seen.
  jpeg::LumaGrid still(int head_x, int head_y) {
    jpeg::LumaGrid grid{kWidth, kHeight, {}, false};
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        double value = 90 + 40 * ((x / 3 + y / 4) % 2);
        if (x >= head_x && x < head_x + 4 && y >= head_y && y < head_y + 4) value = 30;
        // Its top fills a cell little by little.
        const double filled =
            x >= part_x && x < part_x + 8 && y < 24 ? std::clamp(part_ - (23 - y), 0.0, 1.0) : 0;
        value += filled * (210 - value);
        grid.cells.push_back(static_cast<std::uint8_t>(value * light + random_() % 3));
      }
    }
    return grid;
  }
  jpeg::LumaGrid working() {
    return still(static_cast<int>(12 + random_() % 14), static_cast<int>(12 + random_() % 8));
  }
  void grow(double rows) { part_ = rows; }
  double light = 1;
  int part_x = 16;

 private:
  std::mt19937 random_{7};
  double part_ = 0;
};

class JobWatchTest : public testing::Test {
 protected:
  JobWatchTest() : watch(JobWatch::make({.still_every_s = 5, .still_after_s = 300}).value()) {}
  std::vector<JobReport> give(const jpeg::LumaGrid& grid) {
    at_s += 5;
    auto reports = watch.add(grid, at_s);
    all.insert(all.end(), reports.begin(), reports.end());
    return reports;
  }
  void work(double seconds) {
    for (double s = 0; s < seconds; s += 5) {
      machine.grow(std::min(10.0, worked_s / 120));
      give(machine.working());
      worked_s += 5;
    }
  }
  static jpeg::LumaGrid grey() {
    return {kWidth, kHeight, std::vector<std::uint8_t>(kWidth * kHeight, 60), false};
  }
  void rest_at(int x, int y, double seconds) {
    for (double s = 0; s < seconds; s += 5) give(machine.still(x, y));
  }
  std::string said() const {
    std::string text;
    for (const JobReport& report : all)
      text += (report.over ? "no " : "") + std::string(name_of(report.sign)) + ";";
    return text;
  }
  Machine machine;
  JobWatch watch;
  double at_s = 0;
  double worked_s = 0;
  std::vector<JobReport> all;
};

}  // namespace rookery::vision
