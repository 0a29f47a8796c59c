// Power banks and lithium cells: what is in them, how long a camera runs on it, whether a bank switches
// itself off meanwhile, and how long it takes to fill again.
#pragma once

#include <span>
#include <string_view>

#include "plan/units.h"

namespace rookery::plan {

// Mean cell voltage, to which the printed mAh belong. Common practice: 3.7 V; some cells 3.6 V.
inline const Volts kCellVoltage = 3.7_V;
inline const Volts kCellVoltageLeast = 3.6_V;
// Of the converter from the cells to 5 V. Source: quoted, 0.80 to 0.93; 0.85 is planned with.
inline constexpr double kConverterPlanned = 0.85;
inline constexpr double kConverterLeast = 0.80;
inline constexpr double kConverterMost = 0.93;

// What is printed on it, as energy: Wh = Ah · cell voltage.
Joules energy_printed(Coulombs charge, Volts cell);
// What of it comes out at `output` volts, as charge: mAh · cell / output · η.
Coulombs charge_at(Joules energy, double efficiency, Volts output);

// How long a charge lasts at a mean current (more than zero).
Seconds lasts(Coulombs charge, Amperes mean);

// Awake for a while, asleep for the rest of each period.
struct Duty {
  Amperes awake;
  Seconds awake_for;
  Amperes asleep;
  Seconds every;  // no less than awake_for
};
Amperes mean_current(const Duty& duty);

// When a power bank takes the camera for gone: below `current` for `after`.
struct CutOff {
  Amperes current;
  Seconds after;
};
// One common converter chip: 45 mA for 32 s; others: 100 mA for 30 s. Both quoted.
inline const CutOff kCutOffCommonChip{45_mA, 32_s};
inline const CutOff kCutOffOthers{100_mA, 30_s};
// Whether the bank switches itself off in the camera's sleep.
bool cuts_off(const Duty& duty, CutOff cut_off);

// A load beside the camera that keeps the bank awake while the camera sleeps: all the time, or for `pulse` in
// every `period`.
struct KeepAlive {
  Amperes current;  // while it is on
  Seconds pulse;
  Seconds period;  // the same as pulse: all the time

  Amperes mean() const { return current * (pulse / period).value(); }
};
// What is aimed at above the cut-off current: banks differ, and a socket may be at 4.75 V where 5 V are
// reckoned with. A fifth: common practice, no source.
inline constexpr double kKeepAliveMargin = 1.2;
// The steady one that reaches the cut-off current with that margin.
KeepAlive steady_keep_alive(const Duty& duty, CutOff cut_off);
// One of `pulse` that comes again a tenth before the bank would switch off.
KeepAlive pulsed_keep_alive(const Duty& duty, CutOff cut_off, Seconds pulse);

// The resistor that makes such a load of the socket's voltage.
struct KeepAliveResistor {
  Ohms most;     // to be rounded down
  Watts heat;    // U²/R while it is on
  Watts rating;  // the least usual one of twice the heat and more: ¼, ½, 1, 2, 3, 5, 10, 25, 50 or 100 W
};
KeepAliveResistor keep_alive_resistor(const KeepAlive& load, Volts output);

// What a bank takes for itself, of its cells, as a current at its socket.
Amperes idle_at_output(Amperes idle, Volts cell, double efficiency, Volts output);

// What the cold leaves of the capacity: all from 20 °C on, 80 % at 0 °C, 60 % at −20 °C, straight lines
// between. From memory of makers' discharge curves, the cautious end. Not below −20 °C.
double share_in_the_cold(Celsius temperature);

// How long it takes to fill an empty bank: a quarter more than the charger's power needs, since the last
// fifth goes slowly (from memory).
Seconds recharge_time(Joules energy, Watts charger, double efficiency);

// Currents asleep, for comparison. Source: the chip maker's data sheets; the board's: its maker's.
struct SleepState {
  std::string_view name;
  Amperes current;
};
std::span<const SleepState> sleep_states();

}  // namespace rookery::plan
