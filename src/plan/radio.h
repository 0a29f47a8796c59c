// The 2.4 GHz radio: what a frame takes of a channel's time, at which signal which rate holds, and which
// channels do not overlap. One stream, 20 MHz (HT20), as the boards have it.
#pragma once

#include <array>
#include <span>

#include "plan/units.h"

namespace rookery::plan {

// Times of the 2.4 GHz band. Source: ns-3, after IEEE 802.11.
inline const Seconds kSlot = 9_us;
inline const Seconds kSifs = 10_us;            // between a frame and its acknowledgement
inline const Seconds kDifs = 28_us;            // before a sender counts down its back-off
inline const Seconds kSignalExtension = 6_us;  // behind each frame
inline const Seconds kLegacyPreamble = 20_us;
inline const Seconds kHtPreamble = 36_us;      // from memory: HT-mixed
inline const Seconds kAifsBestEffort = 37_us;  // from memory: DIFS of senders that know qualities of service
inline const Seconds kMeanBackoff = 67.5_us;   // of a sender alone: 7.5 slots

// What a packet gets around it on the air: header with quality of service 26, encryption 16, link header 8,
// check sum 4.
inline const Bytes kFraming = 54_B;
inline const Bytes kAcknowledgement = 14_B;
inline const Bytes kBlockAcknowledgement = 32_B;  // from memory: compressed

enum class Guard { long_guard, short_guard };

// One modulation and coding scheme. Source: IEEE 802.11 (rates, bits a symbol); IEEE 802.11-2016 table 19-23
// for the sensitivity (the number from memory), which is the least signal at which at most one frame of ten
// is lost. From memory: the rate of its acknowledgement.
struct HtRate {
  int mcs = 0;
  int bits_a_symbol = 0;
  double long_mbps = 0;
  double short_mbps = 0;
  double ack_mbps = 0;
  Dbm sensitivity;

  double mbps(Guard guard) const { return guard == Guard::long_guard ? long_mbps : short_mbps; }
};

// MCS 0 to 7, slowest first.
std::span<const HtRate> ht_rates();
// The fastest rate that `signal` is enough for; MCS 0 when it is enough for none.
const HtRate& ht_rate_for(Dbm signal);

// How long a frame of `size` is on the air, with its preamble and the signal extension.
Seconds ht_frame_time(Bytes size, const HtRate& rate, Guard guard);
Seconds legacy_frame_time(Bytes size, double mbps);

// A frame and its acknowledgement, with the SIFS between: `together` packets of `packet` each in one go (1 to
// 64), which from two on are an aggregate with a block acknowledgement.
Seconds exchange_time(Bytes packet, int together, const HtRate& rate, Guard guard);

// The channels that do not overlap where 13 or 11 are allowed.
inline constexpr std::array kChannels = {1, 6, 11};
// The middle of a channel, 1 to 13. Source: IEEE 802.11; from memory: 2407 MHz + 5 MHz · number.
Hertz channel_middle(int channel);

}  // namespace rookery::plan
