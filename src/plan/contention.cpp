#include "plan/contention.h"

#include <cassert>
#include <cmath>

#include "plan/radio.h"

namespace rookery::plan {
namespace {

// How often a sender begins when each of its attempts collides with probability p: Bianchi's equation 7, in
// the form that has no 1 − 2p below the line and so holds at p = 1/2 as well.
double attempts_at(double p, int window, int doublings) {
  double sum = 0;
  for (int i = 0; i < doublings; ++i) sum += std::pow(2 * p, i);
  return 2 / (1 + window + p * window * sum);
}

double collisions_at(double attempt, int senders) { return 1 - std::pow(1 - attempt, senders - 1); }

}  // namespace

Contention contention_of(int senders, int window, int doublings) {
  assert(senders >= 1 && window >= 2 && doublings >= 0);
  // More attempts make more collisions, and more collisions make fewer attempts: they meet once.
  double low = 0;
  double high = 1;
  for (int i = 0; i < 60; ++i) {
    const double attempt = (low + high) / 2;
    if (attempts_at(collisions_at(attempt, senders), window, doublings) > attempt) {
      low = attempt;
    } else {
      high = attempt;
    }
  }
  const double attempt = (low + high) / 2;
  return {attempt, collisions_at(attempt, senders)};
}

Hertz exchanges_carried(int senders, Seconds success, Seconds collision) {
  const double attempt = contention_of(senders).attempt;
  const double silent = std::pow(1 - attempt, senders);
  const double one_speaks = senders * attempt * std::pow(1 - attempt, senders - 1);
  // Who has just sent may draw nought and send again at once, while the others' counters stand still.
  const double again = 1.0 / kLeastWindow;
  const double in_a_row = 1 / (1 - again);
  const Seconds slot =
      silent * kSlot + one_speaks * (success * in_a_row + kSlot) + (1 - silent - one_speaks) * collision;
  return one_speaks * in_a_row / slot;
}

}  // namespace rookery::plan
