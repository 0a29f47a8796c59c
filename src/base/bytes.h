// Bytes as people read them.
#pragma once

#include <cstdint>

namespace rookery::base {

// In MB, which are 1 000 000 bytes (IEC 80000-13), as disks are sold.
constexpr double megabytes(std::uint64_t bytes) { return static_cast<double>(bytes) / 1e6; }

}  // namespace rookery::base
