// A row of a job's pictures as a film shows them: drawn at 640×480 with the sensor's noise, sent as JPEG,
// quieted by the pictures beside them; and how unlike neighbours are then.
#pragma once

#include <string>
#include <vector>

#include "bench/lapse/job_film.h"
#include "sim/encoder.h"
#include "vision/lapse_quiet.h"

namespace rookery::bench {

// Of neighbours, outside the part of both.
struct ShownScore {
  double sent = 0;        // mean absolute difference of 80×60 cells, grey levels: each picture alone
  double quiet = 0;       // the same of quieted frames
  double ssim_sent = 0;   // by FFmpeg's filter, the part painted over; 0: not asked for
  double ssim_quiet = 0;  // likewise
  double taken = 0;       // pictures that quieted a frame, mean
};

// strand-bound.
class ShownFilm {
 public:
  // `log`: a file that FFmpeg may write to, for SSIM; empty: no SSIM.
  ShownFilm(const JobOptions& job, std::string log);
  ~ShownFilm();
  ShownFilm(const ShownFilm&) = delete;
  ShownFilm& operator=(const ShownFilm&) = delete;

  // row: numbers of `stills`, rising.
  ShownScore score(const std::vector<JobStill>& stills, const std::vector<std::size_t>& row);

 private:
  struct Shown {
    std::vector<std::uint8_t> sent;
    std::vector<std::uint8_t> quiet;
    double taken = 0;
  };
  std::vector<std::uint8_t> photograph(const JobStill& still);
  Shown show(const std::vector<JobStill>& stills, const std::vector<std::size_t>& row, std::size_t at);

  std::unique_ptr<sim::Scene> scene_;
  sim::Encoder encoder_;
  std::string log_;
};

}  // namespace rookery::bench
