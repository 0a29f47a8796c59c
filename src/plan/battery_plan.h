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
  double current_spread = 0;
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
  KeepAlive steady() const { return steady_keep_alive(duty, cut_off); }
  KeepAlive pulsed() const { return pulsed_keep_alive(duty, cut_off, pulse); }
  // What the plan comes to: with the keep-alive in pulses where the bank would go off.
  Amperes mean() const;
};

// How long a charge lasts.
enum class Lasting : std::size_t { streaming, stills, stills_steady, stills_pulsed, count };

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
