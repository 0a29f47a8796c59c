#include "plan/supply_plan.h"

#include <algorithm>
#include <cassert>

#include <fmt/format.h>

#include "plan/quantity_text.h"

namespace rookery::plan {
namespace {

constexpr std::size_t kParameters = static_cast<std::size_t>(SupplyParameter::count);

constexpr std::size_t place(SupplyParameter parameter) { return static_cast<std::size_t>(parameter); }

Tolerance tolerance_of(double nominal, double low, double high) { return {nominal, low, high}; }

}  // namespace

std::string_view words_of(Mode mode) {
  switch (mode) {
    case Mode::rest:
      return "at rest";
    case Mode::streaming:
      return "streaming";
    case Mode::peak:
      return "transmit peak";
    case Mode::lit:
      return "streaming, lamp on";
    case Mode::peak_and_lit:
      return "transmit peak, lamp on";
  }
  return "at rest";
}

std::string_view key_of(Mode mode) {
  switch (mode) {
    case Mode::rest:
      return "rest";
    case Mode::streaming:
      return "streaming";
    case Mode::peak:
      return "peak";
    case Mode::lit:
      return "lamp";
    case Mode::peak_and_lit:
      return "peak-lamp";
  }
  return "rest";
}

std::string level_text(Volts level) { return level < 0.5_mV ? "0 V" : shown(level); }

bool was_given(const Values& values, std::string_view key) {
  const auto entries = values.entries();
  return std::any_of(entries.begin(), entries.end(),
                     [&](const Values::Entry& entry) { return entry.field->key == key && !entry.assumed; });
}

std::vector<Mode> SupplyPlan::modes() const {
  if (lamp == LampUse::never) return {Mode::rest, Mode::streaming, Mode::peak};
  return {Mode::rest, Mode::streaming, Mode::lit, Mode::peak, Mode::peak_and_lit};
}

Amperes SupplyPlan::current_in(Mode mode) const {
  switch (mode) {
    case Mode::rest:
      return currents.rest;
    case Mode::streaming:
      return currents.streaming;
    case Mode::peak:
      return currents.peak();
    case Mode::lit:
      return currents.lit();
    case Mode::peak_and_lit:
      return currents.peak_and_lit();
  }
  return currents.rest;
}

Amperes SupplyPlan::lasting_in(Mode mode) const {
  if (mode == Mode::streaming) return currents.streaming_most;
  return mode == Mode::lit ? currents.streaming_most + currents.lamp : current_in(mode);
}

Ohms SupplyPlan::feed_path() const {
  return buck == nullptr ? 0_ohm : loop_resistance(feed_size, feed_length, strands, air) + fuse;
}

RegulatorInput SupplyPlan::at_regulator(Amperes of_a_board) const {
  const Watts power = set_point * of_a_board * static_cast<double>(boards) / efficiency_least;
  return regulator_input(source.nominal, feed_path(), power);
}

Volts SupplyPlan::input_needed_at_regulator() const {
  return std::max(set_point * (1 + set_spread) + buck->headroom, buck->input_least);
}

std::optional<Volts> SupplyPlan::turn() const {
  if (buck == nullptr || !r1 || !trimmer || !turns) return std::nullopt;
  return volts_a_turn(buck->reference, *r1, *trimmer, *turns);
}

Chain SupplyPlan::chain() const { return {set_point, wire(), contacts + fuse, rail_path, LinearRegulator{}}; }

Volts SupplyPlan::pin_needed() const { return regulator_1117::kOutputMost + regulator_1117::kDropoutMost; }

SwitchLosses SupplyPlan::losses() const {
  if (buck == nullptr) return {};
  return {buck->saturation, buck->diode};
}

SetPointBounds SupplyPlan::bounds(SquareMetres wire_size) const {
  return {.pin_least = pin_needed(),
          .pin_most = board_most,
          .current_most = current_most(),
          .path_most = wire(wire_size) + contacts_most(),
          .spread = set_spread};
}

std::optional<Metres> SupplyPlan::longest() const {
  const Volts begins = buck == nullptr ? source.least : set_point * (1 - set_spread);
  const Volts drop = begins - pin_needed() - contacts_most() * current_most();
  if (drop <= 0_V) return std::nullopt;
  return longest_run(size, strands, air, current_most(), drop);
}

std::vector<Tolerance> SupplyPlan::parameters() const {
  std::vector<Tolerance> out(kParameters);
  const auto at = [&](SupplyParameter parameter) -> Tolerance& { return out[place(parameter)]; };
  at(SupplyParameter::source_voltage) =
      tolerance_of(source.nominal.value(), source.least.value(), source.most.value());
  at(SupplyParameter::set_factor) = within(1, buck == nullptr ? 0 : set_spread);
  // The plan reckons with the lower efficiency: the fuse and the heat are on the safe side then.
  at(SupplyParameter::efficiency) = tolerance_of(efficiency_least, efficiency_least, efficiency_most);
  // At its best the wire is as the tables of gauges have it, and no warmer than 20 °C.
  const Ohms best = loop_resistance(size, length, Strands::nominal, std::min(air, 20_C));
  at(SupplyParameter::wire) = tolerance_of(wire().value(), std::min(best, wire()).value(), wire().value());
  at(SupplyParameter::contacts) =
      tolerance_of((contacts + fuse).value(), (0.5 * contacts + fuse).value(), contacts_most().value());
  at(SupplyParameter::current_factor) = within(1, current_spread);
  namespace of = regulator_1117;
  at(SupplyParameter::regulated) = tolerance_of(3.3, of::kOutputLeast.value(), of::kOutputMost.value());
  at(SupplyParameter::dropout) =
      tolerance_of(of::kDropoutMost.value(), of::kDropoutTypical.value(), of::kDropoutMost.value());
  at(SupplyParameter::quiescent) =
      tolerance_of(of::kQuiescentMost.value(), of::kQuiescentTypical.value(), of::kQuiescentMost.value());
  at(SupplyParameter::linear_to_air) =
      tolerance_of(linear_to_air.value(), linear_to_air_least.value(), linear_to_air.value());
  at(SupplyParameter::brown_out) = tolerance_of(brown_out.value(), (brown_out - kBrownOutSpread).value(),
                                                (brown_out + kBrownOutSpread).value());
  at(SupplyParameter::frequency) =
      buck == nullptr ? exactly(1)
                      : tolerance_of(frequency.value(), frequency_least.value(), frequency.value());
  return out;
}

void SupplyPlan::reckon(std::span<const double> values, std::span<double> outputs) const {
  const auto put = [&](SupplyOutput output, double value) {
    outputs[static_cast<std::size_t>(output)] = value;
  };
  const auto value = [&](SupplyParameter parameter) { return values[place(parameter)]; };
  const Volts from = Volts::from_value(value(SupplyParameter::source_voltage));
  const double factor = value(SupplyParameter::current_factor);
  const Chain chain{buck == nullptr ? from : set_point * value(SupplyParameter::set_factor),
                    Ohms::from_value(value(SupplyParameter::wire)),
                    Ohms::from_value(value(SupplyParameter::contacts)),
                    rail_path,
                    {Volts::from_value(value(SupplyParameter::regulated)),
                     Volts::from_value(value(SupplyParameter::dropout)),
                     Amperes::from_value(value(SupplyParameter::quiescent))}};
  std::array<Points, kModes> points;
  for (std::size_t i = 0; i < kModes; ++i) {
    points[i] = points_at(chain, current_in(static_cast<Mode>(i)) * factor);
    outputs[i] = points[i].pin.value();
    outputs[kModes + i] = points[i].chip.value();
  }
  const Points& worst = points[static_cast<std::size_t>(worst_mode())];
  put(SupplyOutput::feed, chain.feed.value());
  put(SupplyOutput::reading, points_at(chain, lasting_in(Mode::streaming) * factor).pin.value());
  put(SupplyOutput::regulation_margin, (worst.pin - input_needed(chain.regulator)).value());
  put(SupplyOutput::brown_out_margin, worst.chip.value() - value(SupplyParameter::brown_out));

  const Amperes warming = lasting_in(warming_mode()) * factor;
  const Watts linear = heat_of(chain.regulator, points_at(chain, warming).pin, warming);
  put(SupplyOutput::linear_heat, linear.value());
  put(SupplyOutput::linear_junction,
      junction_temperature(air, linear, KelvinsPerWatt::from_value(value(SupplyParameter::linear_to_air)))
          .degrees);

  const double count = boards;
  const Amperes steady = lasting_in(lit_mode()) * factor * count;
  const Amperes peak = current_in(worst_mode()) * factor * count;
  if (buck == nullptr) {
    put(SupplyOutput::source_steady, steady.value());
    put(SupplyOutput::source_peak, peak.value());
    for (const auto none :
         {SupplyOutput::regulator_input, SupplyOutput::buck_heat, SupplyOutput::buck_junction,
          SupplyOutput::ripple_current, SupplyOutput::ripple_voltage})
      put(none, 0);
    return;
  }
  const double efficiency = value(SupplyParameter::efficiency);
  const Ohms feed = feed_path() * (value(SupplyParameter::wire) / wire().value());
  const RegulatorInput at_peak = regulator_input(from, feed, chain.feed * peak / efficiency);
  put(SupplyOutput::source_steady,
      regulator_input(from, feed, chain.feed * steady / efficiency).current.value());
  put(SupplyOutput::source_peak, at_peak.current.value());
  put(SupplyOutput::regulator_input, at_peak.arrives.value());
  const Watts heat = converter_heat(chain.feed, warming * count, efficiency);
  put(SupplyOutput::buck_heat, heat.value());
  put(SupplyOutput::buck_junction, junction_temperature(air, heat, buck_to_air).degrees);
  put(SupplyOutput::ripple_current, 0);
  put(SupplyOutput::ripple_voltage, 0);
  if (!inductance) return;
  const Hertz each = Hertz::from_value(value(SupplyParameter::frequency));
  const Amperes ripple = ripple_current(inductor_volt_seconds(from, chain.feed, losses(), each), *inductance);
  put(SupplyOutput::ripple_current, ripple.value());
  if (!knows_ripple()) return;
  put(SupplyOutput::ripple_voltage,
      output_ripple(ripple, each, *output_capacitor, *output_esr).together().value());
}

SupplySpreads::SupplySpreads(const SupplyPlan& plan) {
  const std::vector<Tolerance> parameters = plan.parameters();
  spreads_ = spreads_of(
      parameters, static_cast<std::size_t>(SupplyOutput::count),
      [&](std::span<const double> values, std::span<double> outputs) { plan.reckon(values, outputs); });
}

}  // namespace rookery::plan
