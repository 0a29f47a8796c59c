// Who is asked to pause a machine: whether that is a receiver there is, and one that is on.
#pragma once

#include <optional>
#include <string>

#include "archive/job.h"
#include "notices/notice_store.h"

namespace rookery::notices {

// Before settings are stored that name one. Errors: invalid_value ("stop.receiver": there is none of this
// number), those of NoticeStore::receiver.
base::Result<void> check_pause_receiver(const NoticeStore& store, const archive::JobStop& stop);

// What keeps a wish to pause from arriving, for people: "its receiver was removed"; nothing when nobody is to
// be asked, or all is well. Errors: those of NoticeStore::receiver but not_found.
base::Result<std::optional<std::string>> pause_fault(const NoticeStore& store, const archive::JobStop& stop);

// A camera whose jobs would ask for a pause that cannot arrive.
struct PauseFault {
  base::CameraName camera;
  std::string fault;
};
// Of all cameras, by what is stored now. Errors: those of JobStore::all_settings and pause_fault.
base::Result<std::vector<PauseFault>> pause_faults(archive::Catalog& catalog);

}  // namespace rookery::notices
