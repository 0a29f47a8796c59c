// The names that a board makes sure of when it starts or joins a network anew: the probe of multicast DNS
// (RFC 6762 §8.1).
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace rookery::proto {

// The names that one packet of multicast DNS claims: lower case, without a dot at the end, "bobbin.local".
// Empty for any other packet, which is most: questions, and answers to them, say nothing of a start. A packet
// that is cut off or damaged claims what came before that.
std::vector<std::string> claimed_names(std::span<const std::byte> packet);

}  // namespace rookery::proto
