// The inside of the subject "supply": what was asked, made into one chain, and what tolerances make of it.
// For supply_*.cpp only.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "plan/answer.h"
#include "plan/buck.h"
#include "plan/field.h"
#include "plan/supply.h"
#include "plan/tolerance.h"
#include "plan/wire.h"

namespace rookery::plan {

// What a board does while its voltages are looked at.
enum class Mode { rest, streaming, peak, lit, peak_and_lit };
inline constexpr std::size_t kModes = 5;

enum class LampUse { never, picture, steady };

// What may vary, in the order of SupplyPlan::parameters().
enum class SupplyParameter : std::size_t {
  source_voltage,
  set_factor,
  efficiency,
  wire,  // of the board's wire; the one to the regulator is as good or as bad
  contacts,
  current_factor,
  regulated,
  dropout,
  quiescent,
  linear_to_air,
  brown_out,
  frequency,
  count,
};

// The outputs of the sum: pin and chip for each mode, then these.
enum class SupplyOutput : std::size_t {
  pin = 0,
  chip = kModes,
  feed = 2 * kModes,  // where the wire begins, and at the pin while nothing is drawn
  reading,            // at the pin while the board streams at its most: what a meter shows
  regulation_margin,  // what the pin has above what the board's regulator needs, at the highest current
  brown_out_margin,   // what the chip has above its brown-out threshold then
  linear_heat,        // of the board's regulator, over time
  linear_junction,    // °C
  buck_heat,          // over time, all boards
  buck_junction,      // °C
  source_steady,      // what all boards take from the source, the lamp lit when it ever is
  source_peak,        // all at their highest current at once
  regulator_input,    // what arrives at the buck regulator then
  ripple_current,     // of the coil, peak to peak
  ripple_voltage,     // behind the buck regulator, peak to peak
  count,
};

// The set points that hold in the worst case, as they are told: rounded inward.
struct SetPointSpan {
  Volts least;
  Volts most;              // less than `least` when there is none
  std::string_view lower;  // what ends it below and above
  std::string_view upper;
  int digits = 3;  // that tell both ends

  bool empty() const { return most < least; }
  Volts middle() const { return 0.5 * (least + most); }
};

struct SupplyPlan {
  Source source;
  const BuckKind* buck = nullptr;  // null: no regulator
  Volts set_point;                 // or the source's voltage without a regulator
  double set_spread = 0;
  double efficiency_least = 1;
  double efficiency_most = 1;
  std::string_view efficiency_source;
  int boards = 1;

  Metres length;
  SquareMetres size;
  Strands strands{};
  Celsius air;
  Metres feed_length;  // from the source to the regulator; nothing without one
  SquareMetres feed_size;
  Ohms contacts;  // plugs and pins
  Ohms fuse;      // of the fuse in the board's wire with its holder; nothing on USB. The source's has as much

  BoardCurrents currents;
  double current_spread = 0;
  LampUse lamp{};

  Volts board_most;
  Volts chip_least;
  Volts brown_out;
  Ohms rail_path;
  KelvinsPerWatt linear_to_air;
  KelvinsPerWatt linear_to_air_least;
  KelvinsPerWatt buck_to_air;

  Hertz frequency;
  Hertz frequency_least;
  // Nothing where neither the person nor the kind tells them.
  std::optional<Henries> inductance;
  std::optional<Farads> output_capacitor;
  std::optional<Ohms> output_esr;
  std::optional<Ohms> r1;
  std::optional<Ohms> trimmer;
  std::optional<int> turns;

  // The modes that this board knows; the last of them draws the most.
  std::vector<Mode> modes() const;
  Mode worst_mode() const { return lamp == LampUse::never ? Mode::peak : Mode::peak_and_lit; }
  Mode lit_mode() const { return lamp == LampUse::never ? Mode::streaming : Mode::lit; }
  // What goes on for so long that it makes things warm.
  Mode warming_mode() const { return lamp == LampUse::steady ? Mode::lit : Mode::streaming; }
  Amperes current_in(Mode mode) const;
  // As current_in, but streaming at its most: what decides heat, fuse and source.
  Amperes lasting_in(Mode mode) const;
  // The highest current that a board can take, tolerances included.
  Amperes current_most() const { return current_in(worst_mode()) * (1 + current_spread); }

  Ohms wire(SquareMetres wire_size) const { return loop_resistance(wire_size, length, strands, air); }
  Ohms wire() const { return wire(size); }
  // Contacts wear to twice what they were; a fuse does not.
  Ohms contacts_most() const { return 2.0 * contacts + fuse; }
  // From the source to the regulator, its fuse included.
  Ohms feed_path() const;
  // As planned, while each board takes so much.
  RegulatorInput at_regulator(Amperes of_a_board) const;
  // What the regulator's input must be in the worst case.
  Volts input_needed_at_regulator() const;
  bool knows_ripple() const { return inductance && output_capacitor && output_esr; }
  std::optional<Volts> turn() const;  // what one turn of the trimmer changes
  // As planned: every value at its nominal.
  Chain chain() const;
  // The highest voltage that the board's regulator may need to regulate.
  Volts pin_needed() const;
  SwitchLosses losses() const;
  // The set points that keep the voltages in their limits over this size of wire.
  SetPointSpan range(SquareMetres wire_size) const;
  SetPointBounds bounds(SquareMetres wire_size) const;
  // Longest run over which the worst case still holds; nothing when none does.
  std::optional<Metres> longest() const;

  std::vector<Tolerance> parameters() const;
  // One case: `values` in the order of parameters().
  void reckon(std::span<const double> values, std::span<double> outputs) const;
};

// Errors: invalid_value where the values do not go together, with what to change.
base::Result<SupplyPlan> supply_plan(const Values& values);

// The nominal value and the spread of one output.
struct Spreading {
  double nominal = 0;
  Spread spread;
};

class SupplySpreads {
 public:
  explicit SupplySpreads(const SupplyPlan& plan);

  Spreading of(SupplyOutput output) const { return at(static_cast<std::size_t>(output)); }
  Spreading pin(Mode mode) const { return at(static_cast<std::size_t>(mode)); }
  Spreading chip(Mode mode) const { return at(kModes + static_cast<std::size_t>(mode)); }

 private:
  Spreading at(std::size_t index) const { return {spreads_.nominal[index], spreads_.spreads[index]}; }

  Spreads spreads_;
};

std::string_view words_of(Mode mode);  // "transmit peak, lamp on"
std::string_view key_of(Mode mode);    // "peak-lamp"
// "5.04 V"; "0 V" where nothing arrives.
std::string level_text(Volts level);

// Whether a person gave it, rather than a preset.
bool was_given(const Values& values, std::string_view key);

std::span<const Field> supply_fields();
std::vector<Figure> supply_figures(const SupplyPlan& plan, const SupplySpreads& spreads);
std::vector<Limit> supply_limits(const SupplyPlan& plan, const SupplySpreads& spreads);
std::vector<Table> supply_tables(const SupplyPlan& plan);
std::vector<Step> supply_steps(const SupplyPlan& plan);
std::vector<Note> supply_notes(const SupplyPlan& plan);
std::string supply_drawing(const SupplyPlan& plan, const SupplySpreads& spreads);

}  // namespace rookery::plan
