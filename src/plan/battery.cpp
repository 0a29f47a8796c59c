#include "plan/battery.h"

#include <algorithm>
#include <array>
#include <cassert>

#include "plan/safe_side.h"

namespace rookery::plan {

Joules energy_printed(Coulombs charge, Volts cell) { return charge * cell; }

Coulombs charge_at(Joules energy, double efficiency, Volts output) { return energy * efficiency / output; }

Seconds lasts(Coulombs charge, Amperes mean) { return charge / mean; }

Amperes mean_current(const Duty& duty) {
  const double share = std::min((duty.awake_for / duty.every).value(), 1.0);
  return duty.awake * share + duty.asleep * (1 - share);
}

bool cuts_off(const Duty& duty, CutOff cut_off) {
  // One that is below even awake never counts as there.
  if (duty.awake < cut_off.current) return true;
  return duty.asleep < cut_off.current && duty.every - duty.awake_for >= cut_off.after;
}

KeepAlive steady_keep_alive(const Duty& duty, CutOff cut_off) {
  return {std::max(kKeepAliveMargin * cut_off.current - duty.asleep, 0_A), 1_s, 1_s};
}

KeepAlive pulsed_keep_alive(const Duty& duty, CutOff cut_off, Seconds pulse) {
  const Seconds period = 0.9 * cut_off.after;
  return {std::max(kKeepAliveMargin * cut_off.current - duty.asleep, 0_A), std::min(pulse, period), period};
}

KeepAliveResistor keep_alive_resistor(const KeepAlive& load, Volts output) {
  static const std::array kRatings = {0.25_W, 0.5_W, 1_W, 2_W, 3_W, 5_W, 10_W, 25_W, 50_W, 100_W};
  // Two digits, as resistors are sold and added up.
  const Ohms most = Ohms::from_value(shown_at_most((output / load.current).value(), Kind::resistance, 2));
  const Watts heat = output * output / most;
  const auto at =
      std::find_if(kRatings.begin(), kRatings.end(), [&](Watts one) { return one >= 2.0 * heat; });
  return {most, heat, at == kRatings.end() ? 2.0 * heat : *at};
}

Amperes idle_at_output(Amperes idle, Volts cell, double efficiency, Volts output) {
  return idle * (cell / output).value() * efficiency;
}

double share_in_the_cold(Celsius temperature) {
  assert(temperature.degrees >= -20);
  if (temperature >= 20_C) return 1;
  return 0.8 + 0.01 * temperature.degrees;
}

Seconds recharge_time(Joules energy, Watts charger, double efficiency) {
  return 1.25 * energy / (charger * efficiency);
}

std::span<const SleepState> sleep_states() {
  static const std::array kStates = {
      SleepState{"Chip alone, hibernation", 5_uA},
      SleepState{"Chip alone, deep sleep with its timer", 10_uA},
      SleepState{"Chip alone, deep sleep with its co-processor", 150_uA},
      SleepState{"Chip alone, light sleep", 0.8_mA},
      SleepState{"Whole board, deep sleep", 6_mA},
      SleepState{"Chip alone, modem sleep at 80 MHz, at most", 31_mA},
      SleepState{"Chip alone, modem sleep at 160 MHz, at most", 44_mA},
      SleepState{"Chip alone, modem sleep at 240 MHz, at most", 68_mA},
  };
  return kStates;
}

}  // namespace rookery::plan
