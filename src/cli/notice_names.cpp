#include "cli/notice_names.h"

#include <fmt/format.h>

#include <algorithm>

namespace rookery::cli {

using base::Error;
using base::ErrorCode;
using base::Result;
using notices::NoticeStore;
using notices::Rule;

Result<notices::Receiver> receiver_named(const NoticeStore& store, const std::string& name) {
  auto all = store.receivers();
  if (!all) return std::move(all).error();
  const auto found = std::ranges::find(*all, name, &notices::Receiver::name);
  if (found != all->end()) return std::move(*found);
  return Error(ErrorCode::not_found, "receiver", fmt::format("there is no receiver \"{}\"", name),
               "`rookery receiver list` shows those there are.");
}

Result<Rule> rule_named(const NoticeStore& store, const std::string& name) {
  auto all = store.rules();
  if (!all) return std::move(all).error();
  const auto found = std::ranges::find(*all, name, &Rule::name);
  if (found != all->end()) return std::move(*found);
  return Error(ErrorCode::not_found, "rule", fmt::format("there is no rule \"{}\"", name),
               "`rookery rule list` shows those there are.");
}

}  // namespace rookery::cli
