// What happens when in a job: pauses, and since when something is so. Pure.
#pragma once

#include <optional>
#include <vector>

#include "sim/print_job.h"

namespace rookery::sim {

class JobCourse {
 public:
  JobCourse() = default;
  explicit JobCourse(const PrintJob& job);

  bool plain() const { return events_.empty() && idle_s_ == 0; }
  const std::vector<JobEvent>& events() const { return events_; }
  // Seconds of work done by scene second `s`: the pauses and the wait before are left out.
  double worked(double s) const;
  // The scene second at which so much work is done; negative work: so long before the beginning. Infinite
  // when a stall for ever comes before.
  double when(double work) const;
  // … by which the part has its size: no more is added once it came off, a mess began or nothing comes out.
  double added(double s) const;
  // The event of that kind under way at `s`; what lasts for ever has no end.
  const JobEvent* at(Mishap what, double s) const;
  // The first event of that kind that has begun by `s`.
  const JobEvent* since(Mishap what, double s) const;
  // The stretches of scene time with no work in them, after the beginning.
  struct Pause {
    double from = 0;
    double to = 0;
    bool aside = false;  // the head has left the part
  };
  const std::vector<Pause>& pauses() const { return pauses_; }
  const Pause* pause_at(double s) const;
  double idle_s() const { return idle_s_; }

 private:
  std::vector<JobEvent> events_;
  std::vector<Pause> pauses_;
  double idle_s_ = 0;
  double barren_ = 0;
};

}  // namespace rookery::sim
