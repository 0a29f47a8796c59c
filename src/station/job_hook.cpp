#include "station/job_hook.h"

#include <array>

#include "archive/person_name.h"
#include "base/printable.h"

namespace rookery::station {

using archive::Job;
using archive::JobEnding;
using archive::JobStore;
using archive::JobVoice;
using base::Result;
using base::WallTime;
using Did = HookAnswer::Did;

namespace {

constexpr std::array<std::string_view, 4> kWhats{"started", "step", "finished", "failed"};
constexpr std::array<std::string_view, 4> kDids{"started", "noted", "ended", "nothing"};

constexpr std::size_t kMostLabel = 64;  // archive::check_label
constexpr int kAgain = 5;

// What may stand as a label of what software calls its job, which is often a file's name: cut, with what
// cannot be shown as escapes. What is refused would be a job that nobody watches.
std::string label_of(std::string_view called) {
  const auto trimmed = [](std::string_view text) {
    const auto first = text.find_first_not_of(' ');
    if (first == std::string_view::npos) return std::string();
    return std::string(text.substr(first, text.find_last_not_of(' ') + 1 - first));
  };
  std::string label = base::printable(trimmed(called), kMostLabel);
  if (archive::check_label("job's label", label, 0)) return label;
  std::erase_if(label, [](unsigned char c) { return c < 0x20 || c >= 0x7f; });
  return trimmed(label);
}

archive::JobStep step_of(const Job& job, const HookCall& call, WallTime now) {
  archive::JobStep step;
  step.job = job.id;
  step.at = now;
  step.voice = JobVoice::hook;
  step.what = kWhats[static_cast<std::size_t>(call.what)];
  step.note = call.note.empty() ? call.label : call.note;
  return step;
}

// instead_of: the job under way that is another one, and ends with it.
Result<HookAnswer> start(JobStore& store, const base::CameraName& camera, const HookCall& call, WallTime now,
                         std::optional<std::chrono::seconds> usual, const Job* instead_of = nullptr) {
  Job job(camera);
  job.label = call.label;
  job.began = JobVoice::hook;
  job.start = now;
  job.expected = call.expected ? call.expected : usual;
  auto started =
      instead_of == nullptr
          ? store.start(job, call.note)
          : store.replace(instead_of->id, {now, JobEnding::ended, JobVoice::hook, "another one was started"},
                          job, call.note);
  if (!started) return started.error();
  return HookAnswer{Did::started, std::move(*started), {}};
}

// The watch, or the clock, was faster than the software: it is the same job.
Result<HookAnswer> adopt(JobStore& store, Job job, const HookCall& call, WallTime now) {
  if (auto added = store.add(step_of(job, call, now)); !added) return added.error();
  Result<Job> changed = job;
  if (!call.label.empty()) changed = store.set_label(job.id, call.label);
  if (changed && call.expected) changed = store.set_expected(job.id, call.expected);
  if (!changed) return changed.error();
  return HookAnswer{Did::noted, std::move(*changed), {}};
}

bool is_told_of(const Job& job) { return job.began == JobVoice::hook || !job.label.empty(); }

Result<HookAnswer> begin(JobStore& store, const base::CameraName& camera, std::optional<Job> under_way,
                         const HookCall& call, WallTime now, std::optional<std::chrono::seconds> usual) {
  if (!under_way) return start(store, camera, call, now, usual);
  if (!is_told_of(*under_way)) return adopt(store, std::move(*under_way), call, now);
  if (call.label.empty() || call.label == under_way->label) {
    std::string why = fmt::format("job {} is under way already", under_way->id);
    return HookAnswer{Did::nothing, std::move(under_way), std::move(why)};
  }
  return start(store, camera, call, now, usual, &*under_way);
}

Result<HookAnswer> end(JobStore& store, const base::CameraName& camera, const std::optional<Job>& under_way,
                       const HookCall& call, WallTime now) {
  const JobEnding ending = call.what == HookWhat::failed ? JobEnding::failed : JobEnding::finished;
  if (under_way) {
    auto ended = store.end(under_way->id, {now, ending, JobVoice::hook, call.note});
    if (!ended) return ended.error();
    return HookAnswer{Did::ended, std::move(*ended), {}};
  }
  auto last = store.last_of(camera, now);
  if (!last) return last.error();
  const bool late = *last && (*last)->end && now - *(*last)->end <= kLate && (*last)->ending != ending &&
                    (*last)->ended_by_watch;
  if (!late) return HookAnswer{Did::nothing, std::nullopt, "no job is under way"};
  auto corrected = store.correct_ending((*last)->id, {now, ending, JobVoice::hook, call.note});
  if (!corrected) return corrected.error();
  return HookAnswer{Did::noted, std::move(*corrected), {}};
}

Result<HookAnswer> take_once(JobStore& store, const base::CameraName& camera, const HookCall& call,
                             WallTime now, std::optional<std::chrono::seconds> usual) {
  auto under_way = store.under_way(camera);
  if (!under_way) return under_way.error();
  switch (call.what) {
    case HookWhat::started:
      return begin(store, camera, std::move(*under_way), call, now, usual);
    case HookWhat::step: {
      if (!*under_way) return HookAnswer{Did::nothing, std::nullopt, "no job is under way"};
      const auto added = store.add(step_of(**under_way, call, now));
      if (!added) return added.error();
      if (!*added) return HookAnswer{Did::nothing, std::move(*under_way), "no more of its steps are stored"};
      return HookAnswer{Did::noted, std::move(*under_way), {}};
    }
    case HookWhat::finished:
    case HookWhat::failed:
      return end(store, camera, *under_way, call, now);
  }
  return HookAnswer{};
}

}  // namespace

std::optional<HookWhat> hook_what_of(std::string_view word) {
  const auto* found = std::ranges::find(kWhats, word);
  if (found == kWhats.end()) return std::nullopt;
  return static_cast<HookWhat>(found - kWhats.begin());
}

std::string_view name_of(Did did) { return kDids[static_cast<std::size_t>(did)]; }

Result<HookAnswer> take_hook(JobStore& store, const base::CameraName& camera, const HookCall& said,
                             WallTime now, std::optional<std::chrono::seconds> usual) {
  HookCall call = said;
  call.label = label_of(said.label);
  auto answer = take_once(store, camera, call, now, usual);
  // Another call came between what was read and what was written: it is as if that had come first.
  for (int again = 0; again < kAgain && !answer && answer.error().code == base::ErrorCode::already_exists;
       ++again)
    answer = take_once(store, camera, call, now, usual);
  return answer;
}

}  // namespace rookery::station
