// Inner: what an export is called: by its address, on the disk, and when it is offered to a person.
#pragma once

#include <string>
#include <string_view>

#include "station/exports.h"

namespace rookery::station {

// 16 random bytes as hex: an export's address must not be guessable.
std::string new_export_id();
// "mkv", "mp4", "webm", "webp".
std::string_view ending_of(const ExportView& view);
// "anvil 2026-03-01 12.00.00Z.mkv": no colon, which some file systems refuse.
std::string offered_name(const ExportView& view);

}  // namespace rookery::station
