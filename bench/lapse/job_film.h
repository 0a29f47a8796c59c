// A job of the make-believe workshop as the pictures that a lapse is made of, with its truth.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bench/lapse/grid_camera.h"
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
  Light light = Light::steady;
  sim::Size size{640, 480};  // that it is drawn at
  std::string folder;        // keeps what was drawn; empty: nowhere
};

// One picture: the luma grid that a board's JPEG of 640×480 would give, and what was true.
struct JobStill {
  double at_s = 0;
  std::vector<std::uint8_t> grid;       // 80×60
  std::vector<std::uint8_t> thumbnail;  // 40×30
  sim::JobTruth truth;
  sim::Region part;  // in cells of the grid; empty: the scene has none
};

// What one row of pictures is worth.
struct LapseScore {
  std::size_t frames = 0;
  double unlike =
      0;  // mean between neighbours, outside the part of both, grey levels: as the camera sends them
  double quiet = 0;                    // of frames quieted by the pictures beside them, as the film has them
  double clean = 0;                    // the same without noise and JPEG's rounding
  double head_mean = 0, head_p95 = 0;  // steps, px of 640
  double part_mean = 0, part_p95 = 0;  // the same of the part's foot: a bed that slides
  double spacing_s = 0;
  double shrinking = 0;
  double seconds = 0;  // of CPU
};

// How steady the light of a row of pictures is: mean luma, grey levels.
struct LevelScore {
  double flicker = 0;  // vision::flicker: from the median of 15 frames round it
  double spread = 0;   // standard deviation from the straight line that fits best
  double colour = 0;   // flicker of mean Cb and Cr, together
  double banding = 0;  // flicker of the rows' means, less what all rows share
};
struct LevelScores {
  std::size_t frames = 0;
  std::size_t limited = 0;
  std::size_t lamps = 0;
  LevelScore before;
  LevelScore after;                                 // levelled
  double sample_ms = 0, plan_ms = 0, apply_ms = 0;  // of CPU a frame of 640×480
};

// From the job's start to its end.
class FilmedJob {
 public:
  // Throws what is wrong with the options.
  explicit FilmedJob(const JobOptions& options);
  ~FilmedJob();
  FilmedJob(const FilmedJob&) = delete;
  FilmedJob& operator=(const FilmedJob&) = delete;

  const std::vector<JobStill>& stills() const { return stills_; }
  LapseScore score(const vision::LapseOptions& options);
  vision::LapseChoice choose(const vision::LapseOptions& options) const;
  LevelScores level(const vision::LapseChoice& choice);
  // The least that `unlike` can be, for pictures that lie in the windows of the options.
  double least_unlike(const vision::LapseOptions& options) const;
  // The same of quieted frames: each still quieted as if it were picked, a slot from its neighbours.
  double least_quiet(const vision::LapseOptions& options) const;

 private:
  sim::Picture photograph(sim::SceneTime t) const;
  double unlike(const JobStill& before, const JobStill& now) const;
  // Its grid quieted as archive/lapse_frames.h does it: `picks` are numbers of stills, rising.
  std::vector<std::uint8_t> quieted(const std::vector<std::size_t>& picks, std::size_t pick) const;
  std::vector<std::uint8_t> quieted(std::size_t number, double before_s, double behind_s) const;
  double least(const vision::LapseOptions& options,
               const std::function<double(std::size_t, std::size_t)>& unlike_of) const;
  double clean_unlike(const JobStill& before, const JobStill& now);
  const JobOptions options_;
  std::unique_ptr<sim::Scene> scene_;
  std::unique_ptr<GridCamera> camera_;
  std::vector<JobStill> stills_;
};

}  // namespace rookery::bench
