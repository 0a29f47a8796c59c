// What a machine's software says of its job, and what is made of it.
#pragma once

#include <optional>
#include <string>

#include "archive/job_store.h"

namespace rookery::station {

enum class HookWhat : std::uint8_t { started, step, finished, failed };
// "started", "step", "finished", "failed".
std::optional<HookWhat> hook_what_of(std::string_view word);

struct HookCall {
  HookWhat what = HookWhat::step;
  std::string label{};  // of the job; any text: it is made fit to be one, cut to 64 characters
  std::string note{};   // of this step
  std::optional<std::chrono::seconds> expected{};
};

struct HookAnswer {
  enum class Did : std::uint8_t { started, noted, ended, nothing };
  Did did = Did::nothing;
  std::optional<archive::Job> job{};  // that it was about
  std::string why{};                  // nothing was done
};
// "started", "noted", "ended", "nothing".
std::string_view name_of(HookAnswer::Did did);

// Software calls twice, late, and in the wrong order: none of that is an error, and nothing is done twice.
// `started` while one is under way: the same one, unless its label is another; then that one ends where the
// new one starts, or neither is done. An end while none is under way: of the one that the watch has ended
// within the last kLate. Errors: those of JobStore.
inline constexpr std::chrono::minutes kLate{15};
base::Result<HookAnswer> take_hook(archive::JobStore& store, const base::CameraName& camera,
                                   const HookCall& said, base::WallTime now,
                                   std::optional<std::chrono::seconds> usual);

}  // namespace rookery::station
