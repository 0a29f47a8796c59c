#include "archive/job.h"

#include <algorithm>
#include <array>
#include <utility>

namespace rookery::archive {
namespace {

namespace json = boost::json;
using vision::JobSign;

constexpr std::array<std::pair<JobVoice, std::string_view>, 4> kVoices{{{JobVoice::hand, "hand"},
                                                                        {JobVoice::schedule, "schedule"},
                                                                        {JobVoice::hook, "hook"},
                                                                        {JobVoice::watch, "watch"}}};
constexpr std::array<std::pair<JobEnding, std::string_view>, 3> kEndings{
    {{JobEnding::finished, "finished"}, {JobEnding::failed, "failed"}, {JobEnding::ended, "ended"}}};

constexpr std::array<std::pair<std::string_view, std::string_view>, 13> kStepWords{{
    {"started", "the job began"},
    {"step", "a step of the work"},
    {"ended", "the job was ended"},
    {"finished", "the work is finished"},
    {"failed", "it failed"},
    {"pause-asked", "the machine's software was asked to pause"},
    {"pause-sent", "the wish to pause arrived"},
    {"pause-lost", "the wish to pause did not arrive"},
    {"still", "nothing moves though it should"},
    {"knocked", "the camera was knocked or turned"},
    {"covered", "the camera is covered"},
    {"unsharp", "the camera is out of focus"},
    {"loose", "a part came loose, or a mess grows"},
}};

json::value time_or_null(const std::optional<base::WallTime>& at) {
  if (!at) return nullptr;
  return json::value(base::to_rfc3339(*at));
}

json::object facts_json(const vision::JobFacts& facts) {
  return {{"lasted_s", facts.lasted_s},
          {"longest_quiet_s", facts.longest_quiet_s},
          {"moving_share", facts.moving_share},
          {"grown_share", facts.grown_share}};
}

}  // namespace

std::string_view name_of(JobVoice voice) {
  return std::ranges::find(kVoices, voice, &decltype(kVoices)::value_type::first)->second;
}

JobVoice job_voice_of(std::string_view word) {
  const auto* found = std::ranges::find(kVoices, word, &decltype(kVoices)::value_type::second);
  return found == kVoices.end() ? JobVoice::hand : found->first;
}

std::string_view name_of(JobEnding ending) {
  return std::ranges::find(kEndings, ending, &decltype(kEndings)::value_type::first)->second;
}

std::optional<JobEnding> job_ending_of(std::string_view word) {
  const auto* found = std::ranges::find(kEndings, word, &decltype(kEndings)::value_type::second);
  if (found == kEndings.end()) return std::nullopt;
  return found->first;
}

bool is_stop_worthy(JobSign sign) {
  return sign == JobSign::still || sign == JobSign::loose || sign == JobSign::covered ||
         sign == JobSign::knocked;
}

std::chrono::seconds hold_of(const JobStop& stop, JobSign sign) {
  constexpr std::chrono::seconds kLongestOfLoose{240};
  return sign == JobSign::loose ? std::min(stop.hold, kLongestOfLoose) : stop.hold;
}

std::string_view words_for_step(std::string_view what) {
  const auto* found = std::ranges::find(kStepWords, what, &decltype(kStepWords)::value_type::first);
  return found == kStepWords.end() ? what : found->second;
}

json::object job_json(const Job& job) {
  json::object out{{"id", job.id},
                   {"camera", job.camera.text()},
                   {"label", job.label},
                   {"began_by", name_of(job.began)},
                   {"start", base::to_rfc3339(job.start)},
                   {"end", time_or_null(job.end)},
                   {"ending", nullptr},
                   {"expected_s", nullptr},
                   {"expected_end", nullptr},
                   {"good", nullptr},
                   {"facts", facts_json(job.facts)}};
  if (job.ending) out["ending"] = name_of(*job.ending);
  if (job.expected) {
    out["expected_s"] = job.expected->count();
    out["expected_end"] = base::to_rfc3339(job.start + *job.expected);
  }
  if (job.good) out["good"] = *job.good;
  return out;
}

json::object job_step_json(const JobStep& step) {
  return {{"id", step.id},
          {"job", step.job},
          {"at", base::to_rfc3339(step.at)},
          {"by", name_of(step.voice)},
          {"what", step.what},
          {"words", words_for_step(step.what)},
          {"note", step.note},
          {"over", step.over},
          {"strength", step.strength},
          {"sure", step.sure},
          {"before", time_or_null(step.before)},
          {"region",
           json::object{
               {"x", step.where.x}, {"y", step.where.y}, {"w", step.where.width}, {"h", step.where.height}}}};
}

}  // namespace rookery::archive
