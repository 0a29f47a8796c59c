#include "notices/pause_receiver.h"

#include <fmt/format.h>

#include "archive/job_store.h"

namespace rookery::notices {

using base::Error;
using base::ErrorCode;
using base::Result;

Result<void> check_pause_receiver(const NoticeStore& store, const archive::JobStop& stop) {
  if (stop.receiver == 0) return base::ok();
  const auto found = store.receiver(stop.receiver);
  if (found) return base::ok();
  if (found.error().code != ErrorCode::not_found) return found.error();
  return Error(ErrorCode::invalid_value, "job settings",
               fmt::format("\"stop.receiver\": there is no receiver {}", stop.receiver),
               "GET /api/v1/receivers lists those there are; 0 asks nobody.");
}

Result<std::optional<std::string>> pause_fault(const NoticeStore& store, const archive::JobStop& stop) {
  std::optional<std::string> fault;
  if (stop.receiver == 0) return fault;
  const auto found = store.receiver(stop.receiver);
  if (!found && found.error().code != ErrorCode::not_found) return found.error();
  if (!found) {
    fault = "its receiver was removed";
  } else if (!found->enabled) {
    fault = fmt::format("its receiver \"{}\" is switched off", found->name);
  }
  return fault;
}

Result<std::vector<PauseFault>> pause_faults(archive::Catalog& catalog) {
  const auto all = archive::JobStore(catalog).all_settings();
  if (!all) return all.error();
  const NoticeStore receivers(catalog);
  std::vector<PauseFault> found;
  for (const auto& [camera, settings] : *all) {
    auto fault = pause_fault(receivers, settings.stop);
    if (!fault) return fault.error();
    if (*fault) found.push_back({camera, std::move(**fault)});
  }
  return found;
}

}  // namespace rookery::notices
