// The inside of the subject "battery". For battery_*.cpp only.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.h"
#include "plan/answer.h"
#include "plan/battery.h"
#include "plan/field.h"
#include "plan/tolerance.h"

namespace rookery::plan {

// How long a charge lasts.
enum class Lasting : std::size_t { streaming, stills, stills_steady, stills_pulsed, count };

struct BatteryPlan {
  bool bank = false;    // a power bank, which may switch itself off; else cells with a converter of their own
  bool stills = false;  // sleeps between stills; else streams without end
  Coulombs capacity;    // printed, all of them together
  Volts cell;
  Volts cell_least;
  double efficiency = 1;
  double efficiency_least = 1;
  double efficiency_most = 1;
  Volts output;
  Amperes streaming;
  Amperes streaming_most = {};  // in the worst case
  double current_spread = 0;
  std::optional<Amperes> idle = std::nullopt;  // what a bank takes for itself, of its cells, while it is on
  Duty duty;
  CutOff cut_off;
  Seconds pulse;
  Celsius air;
  double health = 1;
  Watts charger;
  std::optional<Seconds> wanted = std::nullopt;

  bool goes_off() const { return bank && stills && cuts_off(duty, cut_off); }
  // What cold and age leave.
  Joules energy() const { return energy_printed(capacity, cell) * (health * share_in_the_cold(air)); }
  Coulombs at_output() const { return charge_at(energy(), efficiency, output); }
  // For a board that sleeps at the least that it may.
  Duty least_asleep() const {
    return {duty.awake, duty.awake_for, duty.asleep * (1 - current_spread), duty.every};
  }
  KeepAlive steady() const { return steady_keep_alive(least_asleep(), cut_off); }
  KeepAlive pulsed() const { return pulsed_keep_alive(least_asleep(), cut_off, pulse); }
  KeepAliveResistor resistor() const { return keep_alive_resistor(steady(), output); }
  // The bank's own current as one at its socket; nothing where it is not known.
  Amperes idle_out() const {
    return idle ? idle_at_output(*idle, cell, efficiency, output) : Amperes::from_value(0);
  }
  // Which of them the plan comes to.
  Lasting lasting() const {
    if (!stills) return Lasting::streaming;
    return goes_off() ? Lasting::stills_pulsed : Lasting::stills;
  }
  // What the plan comes to: with the keep-alive in pulses where the bank would go off. All of it with what
  // the bank takes for itself.
  Amperes mean() const;
  Amperes mean_streaming() const { return streaming + idle_out(); }
  Amperes mean_stills() const { return mean_current(duty) + idle_out(); }
};

// "33.1 h" up to three days, "12.4 days" from there.
std::string hours_or_days(Seconds time);

std::span<const Field> battery_fields();
base::Result<BatteryPlan> battery_plan(const Values& values);
Spreads battery_spreads(const BatteryPlan& plan);

std::vector<Figure> battery_figures(const BatteryPlan& plan, const Spreads& spreads);
std::vector<Limit> battery_limits(const BatteryPlan& plan, const Spreads& spreads);
std::vector<Table> battery_tables(const BatteryPlan& plan);
std::vector<Step> battery_steps(const BatteryPlan& plan);
std::string battery_drawing(const BatteryPlan& plan);

}  // namespace rookery::plan
