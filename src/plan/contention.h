// How senders that all want to speak share one radio channel: Bianchi's model of the distributed coordination
// function. Source: G. Bianchi, IEEE JSAC 18(3), 2000, with the term for frozen back-off that the reference
// sums of ns-3 have (bianchi_11g_difs.txt).
#pragma once

#include "plan/units.h"

namespace rookery::plan {

inline constexpr int kLeastWindow = 16;     // slots that a sender draws from at first: CWmin 15, and nought
inline constexpr int kWindowDoublings = 6;  // until CWmax 1023

// Where a channel settles.
struct Contention {
  double attempt = 0;    // that a sender begins in a given slot
  double collision = 0;  // that an attempt meets another
};

// The fixed point for `senders` (1 or more), all of which always have something to send.
Contention contention_of(int senders, int window = kLeastWindow, int doublings = kWindowDoublings);

// Exchanges a second that succeed, of all senders together. `success` and `collision` are what one that
// succeeds and one that collides take of the channel, with the wait behind it; both more than zero.
Hertz exchanges_carried(int senders, Seconds success, Seconds collision);

}  // namespace rookery::plan
