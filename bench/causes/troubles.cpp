#include "bench/causes/troubles.h"

#include <cmath>

namespace rookery::bench {

using camera::Cause;
using camera::CauseKind;

namespace {

constexpr double kDay_s = 86400;

void to_time_of_day(World& w, double at) {
  const double now = std::fmod(at + w.wall_less_mono, kDay_s);
  const double skip = std::fmod(w.minute_of_day + w.dice.uniform(-60, 60) - now + 2 * kDay_s, kDay_s);
  w.skip(skip);
}

Fault supply(World& w, double at) {
  double end = at;
  CauseKind kind = CauseKind::switched_off;
  if (w.mode < 0.12) {  // a mains timer or a lamp's switch: gone for long, the same time each day
    to_time_of_day(w, at);
    end = w.add(What::dead, at, w.dice.span(300, 3000));
  } else if (w.dice.chance(0.15)) {  // a loose plug, a bank that switches off
    end = w.add(What::dead, at, w.dice.span(8, 400));
  } else {
    // A weak supply falls when the radio draws its peak. Starting draws it again, so it may fall several
    // times.
    kind = CauseKind::brown_out;
    end = w.add(What::dead, at, w.dice.span(0.05, 1));
    while (w.dice.chance(0.3)) end = w.add(What::dead, end + w.dice.span(0.3, 1.4), w.dice.span(0.05, 0.6));
    if (w.dice.chance(0.35)) w.fresh_next = true;
  }
  if (w.dice.chance(0.3)) w.add(What::sensor_bad, at - w.dice.span(0.3, 3), 3, 0.3);  // ripples
  w.near_share = w.shared_supply ? 1.0 / std::max(1, w.near) : 0;
  return {at, end, Cause::supply, w.weak_radio ? std::optional(Cause::radio) : std::nullopt, kind};
}

Fault radio(World& w, double at) {
  if (w.dice.chance(0.75)) {  // it gets worse before it fails: someone walks in between, a door moves
    const double lead = w.dice.span(5, 25);
    for (int n = 0; n < 5; ++n) w.add(What::loss, at - lead + n * lead / 5, lead / 5, 0.04 + 0.05 * n);
  }
  double end = at;
  const int fades = w.dice.count(1, 3);
  for (int n = 0; n < fades; ++n) {
    const double deep = w.dice.span(2.5, 25);
    w.add(What::loss, end, deep, w.dice.chance(0.6) ? w.dice.uniform(0.93, 1.0) : 1.0);
    end += deep;
    if (n + 1 < fades) {
      const double between = w.dice.span(0.5, 4);
      w.add(What::loss, end, between, w.dice.uniform(0.1, 0.5));
      end += between;
    }
  }
  w.add(What::loss, end, w.dice.span(3, 15), w.dice.uniform(0.03, 0.15));
  w.near_share = w.edge_neighbour ? 1.0 / std::max(1, w.near) : 0;
  return {at, end, Cause::radio, std::nullopt, CauseKind::fade};
}

Fault hang(World& w, double at) {
  Fault fault{at, at, Cause::hang, w.weak_radio ? std::optional(Cause::radio) : std::nullopt};
  if (w.mode > 0.8) {  // heat: noise grows for minutes, pictures break, then it stops
    w.add(What::noisy, at - 900, 1200, w.dice.span(0.09, 0.3));
    w.add(What::sensor_bad, at - 20, 20, w.dice.span(0.01, 0.06));
  }
  if (w.mode < 0.3) {  // a task hangs, a watchdog restarts the board
    fault.kind = CauseKind::watchdog;
    const double wait = w.dice.span(5, 60);
    w.add(What::app_hung, at, wait);
    fault.to = w.add(What::dead, at + wait, 0.05);
  } else if (w.mode < 0.5) {  // it frees itself
    fault.kind = CauseKind::frees_itself;
    fault.to = w.add(What::app_hung, at, w.dice.span(3, 45));
  } else if (w.mode < 0.62) {  // all of it, until somebody cycles the power
    fault.kind = CauseKind::frozen;
    const double wait = w.dice.span(60, 2500);
    w.add(What::frozen, at, wait);
    fault.to = w.add(What::dead, at + wait, w.dice.span(2, 10));
  } else if (w.mode < 0.78) {  // memory leaks: it panics after the same time again and again
    fault.kind = CauseKind::leak;
    if (w.causes.size() > 1) w.boot_at = at - w.period_s * (1 + w.dice.normal(0, 0.04));
    fault.to = w.add(What::dead, at, 0.1);
  } else {  // the program hangs until somebody cycles the power
    fault.kind = CauseKind::until_cycled;
    const double wait = w.dice.span(60, 2500);
    w.add(What::app_hung, at, wait);
    fault.to = w.add(What::dead, at + wait, w.dice.span(2, 10));
  }
  return fault;
}

Fault network(World& w, double at) {
  Fault fault{at, at, Cause::network, w.weak_radio ? std::optional(Cause::radio) : std::nullopt};
  if (w.mode < 0.5) {  // the access point restarts or loses its uplink
    fault.kind = CauseKind::access_point;
    fault.to = w.add(What::ap_down, at, w.dice.span(5, 120));
    w.near_share = w.dice.span(0.8, 0.98);
  } else if (w.mode < 0.8) {  // another address after a lease ran out
    fault.kind = CauseKind::moved;
    fault.to = w.add(What::elsewhere, at, w.dice.span(10, 400));
    w.moved = true;
  } else {  // two machines with one address
    fault.kind = CauseKind::conflict;
    fault.to = w.add(What::usurped, at, w.dice.span(10, 400));
  }
  return fault;
}

// Somebody else gets in when our connection breaks for a moment.
Fault viewer(World& w, double at) {
  Fault fault{at, at, Cause::viewer, std::nullopt, CauseKind::viewer};
  const double why = w.dice.uniform(0, 1);
  double from = at;
  if (why < 0.4) {
    from = w.add(What::loss, at, w.dice.span(6, 9), 1);
    fault.second = Cause::radio;
  } else if (why < 0.75) {
    w.add(What::closes, at, 0.1);
  } else {
    from = w.add(What::dead, at, w.dice.span(0.05, 1));
    fault.second = Cause::supply;
  }
  fault.to = std::max(from + 8, at + w.dice.span(25, 1200));
  w.add(What::other_viewer, at - 1, fault.to - at + 1);
  return fault;
}

Fault sensor(World& w, double at) {
  Fault fault{at, at, Cause::sensor, w.weak_radio ? std::optional(Cause::radio) : std::nullopt};
  if (w.dice.chance(0.7)) w.add(What::sensor_bad, at - w.dice.span(3, 25), 30, w.dice.span(0.03, 0.4));
  fault.kind = w.mode < 0.75 ? CauseKind::no_picture : CauseKind::bad_picture;
  if (w.mode < 0.75) {
    const double wait = w.dice.span(6, 600);
    fault.to = w.add(What::sensor_none, at, wait);
    if (w.dice.chance(0.3)) fault.to = w.add(What::dead, at + wait, w.dice.span(2, 8));
  } else {
    fault.to = w.add(What::sensor_bad, at, w.dice.span(20, 400), 1);
  }
  return fault;
}

Fault station(World& w, double at) {
  const double wait = w.dice.span(2.6, 25);
  w.add(What::paused, at, wait);
  while (w.dice.chance(0.3)) w.add(What::paused, at + wait + w.dice.span(0.5, 3), w.dice.span(0.6, 5));
  w.near_share = 0.97;
  w.far_share = 0.97;
  return {at, at + wait, Cause::station, std::nullopt, CauseKind::overload};
}

}  // namespace

// What counts as healthy is no parameter: nothing here lasts 3 s.
Fault hiccup(World& w, double at) {
  const double kind = w.dice.uniform(0, 1);
  if (kind < 0.45) {  // an access point that looks round the channels, a neighbour's burst
    w.add(What::loss, at, w.dice.uniform(0.3, 2.6), 1);
  } else if (kind < 0.65) {
    w.add(What::closes, at, 0.1);
  } else if (kind < 0.8) {
    w.add(What::paused, at, w.dice.uniform(0.05, 0.5));
  } else {
    w.add(What::sensor_bad, at, w.dice.span(0.05, 0.3));
  }
  return {at - 1, at + 4, std::nullopt, std::nullopt};
}

Fault plan(World& w, Cause cause, double at) {
  w.weak_radio = w.causes.size() > 1 && cause != Cause::radio &&
                 std::ranges::find(w.causes, Cause::radio) != w.causes.end() && w.dice.chance(0.4);
  if (w.weak_radio) w.add(What::loss, at - 40, 120, w.dice.span(0.03, 0.08));
  switch (cause) {
    case Cause::supply:
      return supply(w, at);
    case Cause::radio:
      return radio(w, at);
    case Cause::hang:
      return hang(w, at);
    case Cause::network:
      return network(w, at);
    case Cause::viewer:
      return viewer(w, at);
    case Cause::sensor:
      return sensor(w, at);
    case Cause::station:
      return station(w, at);
  }
  return hiccup(w, at);
}

}  // namespace rookery::bench
