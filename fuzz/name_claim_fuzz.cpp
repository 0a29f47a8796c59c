// Packets of multicast DNS from the network: which names they claim.
#include <cstddef>
#include <cstdint>
#include <span>

#include "fuzz/promise.h"
#include "proto/name_claim.h"

using rookery::fuzz::require;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto packet = std::as_bytes(std::span(data, size));
  const auto names = rookery::proto::claimed_names(packet);
  require(names.size() <= 32, "a packet claims no more than it may ask");
  for (std::size_t n = 0; n < names.size(); ++n) {
    require(!names[n].empty() && names[n].size() <= 255, "a name has the length of one");
    for (std::size_t other = 0; other < n; ++other) require(names[n] != names[other], "each is told once");
    for (const char c : names[n]) require(c < 'A' || c > 'Z', "names are lower case");
  }
  // What is cut off claims the beginning of what the whole claims.
  const auto cut = rookery::proto::claimed_names(packet.first(size / 2));
  require(cut.size() <= names.size(), "nothing is claimed by being cut off");
  for (std::size_t n = 0; n < cut.size(); ++n) require(cut[n] == names[n], "the same, in the same order");
  return 0;
}
