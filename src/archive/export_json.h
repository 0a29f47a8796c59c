// Inner: what was asked for, and what became of it, as JSON for the catalog's columns.
// docs/formats/catalog.md.
#pragma once

#include <string>
#include <string_view>

#include "archive/export_store.h"

namespace rookery::archive {

// Camera, span, format and what else a person may choose.
std::string ask_text(const StoredExport& one);
// Into request and lapse. Errors: malformed.
base::Result<void> read_ask(std::string_view text, StoredExport& one);

std::string outcome_text(const ExportResult& result, const std::optional<LapseResult>& lapse);
std::string outcome_text(const base::Error& error);
// Nothing for "": it is still wanted. Errors: malformed.
base::Result<void> read_outcome(std::string_view text, StoredExport& one);

}  // namespace rookery::archive
