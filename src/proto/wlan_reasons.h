// Why a radio station was sent away from a network, or did not get in: the numbers that boards print.
#pragma once

#include <cstdint>
#include <string_view>

namespace rookery::proto {

// immutable value.
struct WlanReason {
  std::string_view meaning;  // half a sentence: "the access point did not answer in time"
  std::string_view next;     // what to do, one sentence
};

// 1 to 66 are IEEE 802.11 reason codes (from memory, as are their meanings); from 200 on they are the radio
// chip's own. For numbers that are in no table the words say so. Views of constants.
WlanReason wlan_reason(std::uint32_t code);

}  // namespace rookery::proto
