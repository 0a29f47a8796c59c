// A job of the make-believe workshop as the pictures that a lapse is made of, with its truth.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "bench/motion/truth.h"
#include "sim/scene.h"
#include "vision/lapse_choice.h"

namespace rookery::bench {

struct JobOptions {
  std::string scene = "anvil";
  std::optional<sim::PrintedKind> kind;
  float layer_s = 47;
  double stills_per_s = 1;
  double most_hours = 3;
  std::uint64_t seed = 1;
  Troubles troubles = Troubles::none;
};

// One picture: the luma grid that a board's JPEG of 640×480 would give, and what was true.
struct JobStill {
  double at_s = 0;
  std::vector<std::uint8_t> grid;       // 80×60
  std::vector<std::uint8_t> thumbnail;  // 40×30
  sim::JobTruth truth;
  sim::Region part;  // in cells of the grid; empty: the scene has none
};

inline constexpr int kGridWidth = 80;
inline constexpr int kGridHeight = 60;

// From the job's start to its end. Throws what is wrong with the options.
std::vector<JobStill> film_job(const JobOptions& options);

// What one rule makes of it.
struct LapseScore {
  std::size_t frames = 0;
  double unlike = 0;                   // mean between neighbours, outside the part of both
  double head_mean = 0, head_p95 = 0;  // px of 640
  double part_mean = 0, part_p95 = 0;  // the same of the part's foot: a bed that slides
  double spacing_s = 0;
  double shrinking = 0;
  double seconds = 0;  // of CPU
};

LapseScore score_lapse(const std::vector<JobStill>& job, const vision::LapseOptions& options);

}  // namespace rookery::bench
