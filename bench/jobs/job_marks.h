// What a watch said of a job against what was so.
//
// A *spell* of a sign is the first stretch of stills in which it is so (JobTruth): detached since it came
// off; still while stalled; finished; knocked, covered, unsharp; a mess from its first cell; shifted; not
// growing from when the part stopped, while the machine works. Reports with `over` are not reports of the
// sign.
//
//   due     the spell lasts as long as it may take to be told (below), and the camera was neither knocked,
//   covered
//           nor unsharp in that time (of those three the one asked for aside). A mess is due when it comes
//           to 5 % of the picture before the film ends.
//   right   said in the spell and in time: detached, knocked, covered within 60 s of its beginning;
//           finished, unsharp within 120 s; still within the time that was set and 30 s; not growing and
//           shifted within 20 minutes; a mess before it takes 5 % of the picture. And not taken back by
//           `over` while it went on: what was taken back and said again in time is right.
//           Of these times, what goes by with a person in the picture does not count, and for `still` the
//           time begins anew with it; they end at a still.
//   late    said in the spell, after that.
//   missed  not said in the spell.
//   false   said outside a spell, more than 30 s after one ended. `finished` in a pause or a stall is false,
//           taken back or not; what was later taken back is counted beside it. `still` is false too when
//           nothing had moved for less than the time that was set, less 30 s.
//   beside  said outside a spell of its own, while the part was off, the machine stalled, or the camera
//           knocked, covered or unsharp: counted by itself, for such a job was to be stopped or looked at.
//   dropped said to be over while it was so (of a spell that is due), whether or not it was said again.
//
// Stop-worthy are detached, still, knocked and covered. Clean hours are the job's time, rest at its end
// included, in which the part is on, no stall goes on, and the camera is neither knocked, covered nor
// unsharp; false reports are counted against them. Time before the beginning belongs to WorkSense: a start
// is right when told within 200 s of the beginning and set at most 30 s before and 60 s after it; any other
// is false, also one after the end. One told again after a pause is neither.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "sim/print_job.h"
#include "vision/job_watch.h"

namespace rookery::bench {

inline constexpr int kSigns = 9;
std::string_view sign_name(vision::JobSign sign);

struct JobMoment {
  double at_s = 0;      // since the job began; negative before
  sim::JobTruth truth;  // its seconds are since the job began, too
};

struct Told {
  vision::JobReport report;
  double told_s = 0;  // when it was said
};

struct SignMarks {
  int due = 0;
  int right = 0;
  int late = 0;
  int missed = 0;
  int wrong = 0;
  int taken_back = 0;  // of the wrong ones, by `over`
  int beside = 0;
  int dropped = 0;
};

// A line of what went other than wanted.
struct JobNote {
  std::string text;
  double at_s = 0;      // when it was so or was said
  double before_s = 0;  // a moment before
};

struct JobMarks {
  std::array<SignMarks, kSigns> signs{};
  SignMarks finished_after_fault;  // of `finished`: jobs in which the part came off, became a mess or nothing
  double hours = 0;
  double clean_hours = 0;
  int begun_due = 0;
  int begun_right = 0;
  int begun_wrong = 0;
  std::vector<JobNote> notes;
  void add(const JobMarks& other);
  int false_stops() const;
};

// moments: in their order, from before the beginning to the end of the film. begun: what WorkSense said, as
// {told, set}.
struct Begun {
  double told_s = 0;
  double set_s = 0;
};
JobMarks mark_job(const std::vector<JobMoment>& moments, const std::vector<Told>& told,
                  const std::vector<Begun>& begun, double still_after_s);

}  // namespace rookery::bench
