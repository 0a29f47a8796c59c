#include "plan/radio.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace rookery::plan {
namespace {

constexpr double kServiceAndTailBits = 22;  // 16 before and 6 behind the frame, in one code word with it

double bits_of(Bytes size) { return kServiceAndTailBits + 8 * size.value(); }

// An aggregate's frames are padded to four bytes behind a delimiter of four; 1554 B make 1560.
Bytes in_aggregate(Bytes frame) { return Bytes::from_value(4 * std::ceil((frame.value() + 4) / 4)); }

}  // namespace

std::span<const HtRate> ht_rates() {
  static constexpr std::array kRates = {
      HtRate{0, 26, 6.5, 7.2, 6, {-82}},    HtRate{1, 52, 13, 14.4, 12, {-79}},
      HtRate{2, 78, 19.5, 21.7, 12, {-77}}, HtRate{3, 104, 26, 28.9, 24, {-74}},
      HtRate{4, 156, 39, 43.3, 24, {-70}},  HtRate{5, 208, 52, 57.8, 24, {-66}},
      HtRate{6, 234, 58.5, 65, 24, {-65}},  HtRate{7, 260, 65, 72.2, 24, {-64}},
  };
  return kRates;
}

const HtRate& ht_rate_for(Dbm signal) {
  const auto rates = ht_rates();
  const auto enough = [&](const HtRate& rate) { return rate.sensitivity <= signal; };
  const auto at = std::find_if(rates.rbegin(), rates.rend(), enough);
  return at == rates.rend() ? rates.front() : *at;
}

Seconds ht_frame_time(Bytes size, const HtRate& rate, Guard guard) {
  const double symbols = std::ceil(bits_of(size) / rate.bits_a_symbol);
  // A symbol is 4 µs, or 3.6 with the short guard; then the whole is filled up to 4 µs (from memory: IEEE
  // 802.11-2016, 19.4.3).
  const double quarters = guard == Guard::long_guard ? symbols : std::ceil(symbols * 3.6 / 4);
  return kHtPreamble + quarters * 4_us + kSignalExtension;
}

Seconds legacy_frame_time(Bytes size, double mbps) {
  return kLegacyPreamble + std::ceil(bits_of(size) / (4 * mbps)) * 4_us + kSignalExtension;
}

Seconds exchange_time(Bytes packet, int together, const HtRate& rate, Guard guard) {
  assert(together >= 1 && together <= 64);
  const Bytes frame = packet + kFraming;
  const bool one = together == 1;
  const Bytes sent = one ? frame : static_cast<double>(together) * in_aggregate(frame);
  return ht_frame_time(sent, rate, guard) + kSifs +
         legacy_frame_time(one ? kAcknowledgement : kBlockAcknowledgement, rate.ack_mbps);
}

Hertz channel_middle(int channel) { return Hertz::from_value(2407e6 + 5e6 * channel); }

}  // namespace rookery::plan
