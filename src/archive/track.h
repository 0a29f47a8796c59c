// Track: the two recordings that one camera may have.
#pragma once

#include <cstdint>

namespace rookery::archive {

enum class Track : std::uint8_t {
  recording,  // what is recorded always or around events: what people play
  stills,     // a job's stills, a few a minute, while the other track does not record all the time
};

}  // namespace rookery::archive
