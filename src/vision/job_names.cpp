#include <algorithm>
#include <array>
#include <utility>

#include "vision/job_watch.h"

namespace rookery::vision {
namespace {

constexpr std::array<std::pair<JobSign, std::string_view>, 6> kSigns{{
    {JobSign::finished, "finished"},
    {JobSign::still, "still"},
    {JobSign::knocked, "knocked"},
    {JobSign::covered, "covered"},
    {JobSign::unsharp, "unsharp"},
    {JobSign::loose, "loose"},
}};

}  // namespace

std::string_view name_of(JobPhase phase) {
  switch (phase) {
    case JobPhase::learning:
      return "learning";
    case JobPhase::working:
      return "working";
    case JobPhase::resting:
      return "resting";
    case JobPhase::finished:
      return "finished";
  }
  return "learning";
}

std::string_view name_of(JobSign sign) {
  return std::ranges::find(kSigns, sign, &decltype(kSigns)::value_type::first)->second;
}

std::optional<JobSign> job_sign_named(std::string_view name) {
  const auto* found = std::ranges::find(kSigns, name, &decltype(kSigns)::value_type::second);
  if (found == kSigns.end()) return std::nullopt;
  return found->first;
}

}  // namespace rookery::vision
