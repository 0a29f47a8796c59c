// The stills of a case as a station gets them: drawn at 640×480, the sensor's noise, a JPEG of 4:2:2, and of
// that the luma grid. One about every 5 s.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench/jobs/job_cases.h"
#include "bench/jobs/job_marks.h"
#include "jpeg/luma_grid.h"

namespace rookery::bench {

inline constexpr double kStillEvery = 5;  // seconds

// strand-bound.
class JobStills {
 public:
  // keep: folder in which the grids of a case are kept from run to run (some 4 MB each), for drawing and
  // packing take nearly all of the time; empty: nowhere. Throws what is wrong with it.
  JobStills(const JobCase& made, const std::string& keep);
  ~JobStills();
  JobStills(const JobStills&) = delete;
  JobStills& operator=(const JobStills&) = delete;
  const std::vector<JobMoment>& moments() const { return moments_; }
  // Of moments()[i]; in their order, each once.
  const jpeg::LumaGrid& next();
  // A picture at that second of the job, as JPEG of quality 85.
  void write_picture(double job_s, const std::string& path);

 private:
  class Body;
  std::vector<JobMoment> moments_;
  std::unique_ptr<Body> body_;
  std::size_t next_ = 0;
  jpeg::LumaGrid grid_;
};

}  // namespace rookery::bench
