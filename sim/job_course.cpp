#include "sim/job_course.h"

#include <algorithm>
#include <limits>

namespace rookery::sim {
namespace {

constexpr double kForEver = std::numeric_limits<double>::infinity();

double end_of(const JobEvent& event) { return event.length_s > 0 ? event.at_s + event.length_s : kForEver; }

bool stops_growth(Mishap what) {
  return what == Mishap::came_off || what == Mishap::mess || what == Mishap::nothing_out;
}

}  // namespace

JobCourse::JobCourse(const PrintJob& job) : events_(job.events), idle_s_(job.idle_s), barren_(kForEver) {
  std::stable_sort(events_.begin(), events_.end(),
                   [](const JobEvent& a, const JobEvent& b) { return a.at_s < b.at_s; });
  for (const JobEvent& event : events_) {
    if (stops_growth(event.what)) barren_ = std::min(barren_, event.at_s);
    if (event.what != Mishap::stall && event.what != Mishap::spool_change) continue;
    // One that begins in another goes on from its end.
    const double from = std::max(event.at_s, pauses_.empty() ? idle_s_ : pauses_.back().to);
    if (end_of(event) <= from) continue;
    pauses_.push_back({from, end_of(event), event.what == Mishap::spool_change});
  }
}

double JobCourse::worked(double s) const {
  double work = s - idle_s_;
  for (const Pause& pause : pauses_) {
    if (pause.from < s) work -= std::min(s, pause.to) - pause.from;
  }
  return work;
}

double JobCourse::when(double work) const {
  double s = work + idle_s_;
  for (const Pause& pause : pauses_) {
    if (pause.from < s) s += pause.to - pause.from;
  }
  return s;
}

double JobCourse::added(double s) const { return worked(std::min(s, barren_)); }

const JobEvent* JobCourse::at(Mishap what, double s) const {
  for (const JobEvent& event : events_) {
    if (event.what == what && event.at_s <= s && s < end_of(event)) return &event;
  }
  return nullptr;
}

const JobEvent* JobCourse::since(Mishap what, double s) const {
  for (const JobEvent& event : events_) {
    if (event.what == what && event.at_s <= s) return &event;
  }
  return nullptr;
}

const JobCourse::Pause* JobCourse::pause_at(double s) const {
  for (const Pause& pause : pauses_) {
    if (pause.from <= s && s < pause.to) return &pause;
  }
  return nullptr;
}

}  // namespace rookery::sim
