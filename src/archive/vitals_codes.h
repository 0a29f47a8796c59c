// How vitals are written down: a byte a number, a day a blob. docs/formats/vitals.md has the grammar.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "base/result.h"
#include "camera/vitals.h"

namespace rookery::archive {

inline constexpr std::size_t kVitalsColumns = 9;
inline constexpr std::size_t kMinutesADay = 1440;

// One minute, a byte a column: 0 says that nothing was measured.
using VitalsCodes = std::array<std::uint8_t, kVitalsColumns>;

// Shares and light are written to 0.5 % and one grey level; rates and sizes to 2.5 %, gaps and jitter to 5 %;
// counts exactly up to ten, to 2.5 % beyond. What is outside of a scale stands as its end.
VitalsCodes to_codes(const camera::Vitals& vitals);
// None when the minute was not measured.
std::optional<camera::Vitals> from_codes(const VitalsCodes& codes);

// A day, by columns, deflated (RFC 1950). `minutes` has kMinutesADay entries.
std::vector<std::byte> pack_day(std::span<const VitalsCodes> minutes);
// Errors: damaged.
base::Result<std::vector<VitalsCodes>> unpack_day(std::span<const std::byte> blob);

}  // namespace rookery::archive
