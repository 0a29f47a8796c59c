// Receivers and rules by the names that people give them.
#pragma once

#include "notices/notice_store.h"

namespace rookery::cli {

// Errors: not_found, those of NoticeStore.
base::Result<notices::Receiver> receiver_named(const notices::NoticeStore& store, const std::string& name);
base::Result<notices::Rule> rule_named(const notices::NoticeStore& store, const std::string& name);

}  // namespace rookery::cli
