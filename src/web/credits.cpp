#include "web/credits.h"

#include <algorithm>

namespace rookery::web {

std::optional<int> Credits::acknowledge(std::uint32_t serial) {
  if (serial == 0) return std::nullopt;
  const auto found =
      std::find_if(out_.begin(), out_.end(), [serial](const auto& entry) { return entry.second == serial; });
  if (found == out_.end()) return std::nullopt;
  const int slot = found->first;
  out_.erase(found);
  return slot;
}

}  // namespace rookery::web
