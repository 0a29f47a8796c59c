// What the subject "battery" asks for, made into one plan.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "plan/battery_plan.h"
#include "plan/quantity_text.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

constexpr std::array kKinds = {
    Choice{"bank", "Power bank with a 5 V socket"},
    Choice{"cells", "Lithium cells with a step-up converter that stays on"},
};

// The module's average while it transmits in 802.11b, 233 mA by its data sheet, and 62 mA of the others.
const Amperes kStreamingMost = 300_mA;

constexpr std::array kUses = {
    Choice{"streaming", "Streams all the time"},
    Choice{"stills", "Sleeps, and wakes for a still"},
};

constexpr std::array kFields = {
    Field{.key = "kind", .label = "What it runs on", .kind = Kind::choice, .choices = kKinds},
    Field{.key = "capacity",
          .label = "Capacity printed on it",
          .kind = Kind::charge,
          .least = "100 mAh",
          .most = "500 Ah",
          .why = "the mAh of the cells, not those \"at 5 V\"",
          .example = "10000 mAh"},
    Field{.key = "use", .label = "What the camera does", .kind = Kind::choice, .choices = kUses},
    Field{.key = "count",
          .label = "How many of them: banks one after the other, cells side by side",
          .kind = Kind::count,
          .least = "1",
          .most = "100",
          .preset = "1",
          .why = "one"},
    Field{.key = "wanted",
          .label = "Time that a charge has to last",
          .kind = Kind::duration,
          .least = "1 min",
          .most = "5 years",
          .why = "to be told whether it does",
          .may_be_absent = true},
    Field{.key = "every",
          .label = "Time from one still to the next",
          .kind = Kind::duration,
          .least = "1 s",
          .most = "30 days",
          .preset = "10 min",
          .why = "an example: it is your choice"},
    Field{.key = "awake",
          .label = "Time awake for a still: start, join, picture",
          .kind = Kind::duration,
          .least = "0.1 s",
          .most = "1 h",
          .preset = "10 s",
          .why = "common practice, no source: measure yours"},
    Field{.key = "streaming",
          .label = "Board's current awake and streaming",
          .kind = Kind::current,
          .least = "1 mA",
          .most = "3 A",
          .preset = "190 mA",
          .why = "measured on a board, as quoted by others; 440 mA with its lamp on. The worst case is 300 "
                 "mA: the "
                 "module's average in 802.11b, 233 mA by its data sheet, and 62 mA"},
    Field{.key = "sleep",
          .label = "Board's current asleep",
          .kind = Kind::current,
          .least = "1 uA",
          .most = "1 A",
          .preset = "6 mA",
          .why = "board's maker, deep sleep: its regulator and memory stay on"},
    Field{.key = "current-spread",
          .label = "How much a board's currents may differ",
          .kind = Kind::ratio,
          .least = "0 %",
          .most = "50 %",
          .preset = "10 %",
          .why = "common practice, no source",
          .rare = true},
    Field{.key = "cell-voltage",
          .label = "Mean voltage of its cells",
          .kind = Kind::voltage,
          .least = "1 V",
          .most = "60 V",
          .preset = "3.7 V",
          .why = "lithium cells; some are counted with 3.6 V",
          .rare = true},
    Field{.key = "output",
          .label = "Voltage that comes out",
          .kind = Kind::voltage,
          .least = "3 V",
          .most = "24 V",
          .preset = "5 V",
          .why = "USB",
          .rare = true},
    Field{.key = "efficiency",
          .label = "Efficiency of its converter",
          .kind = Kind::ratio,
          .least = "30 %",
          .most = "99 %",
          .preset = "85 %",
          .why = "80 to 93 % as quoted by others; one common converter chip up to 92 %, its maker",
          .rare = true},
    Field{
        .key = "cut-off",
        .label = "Current below which the bank switches itself off",
        .kind = Kind::current,
        .least = "1 mA",
        .most = "1 A",
        .preset = "100 mA",
        .why =
            "of many, as quoted by others; 45 mA for 32 s of one common converter chip (not used for cells)",
        .rare = true},
    Field{.key = "cut-off-after",
          .label = "Time after which it does",
          .kind = Kind::duration,
          .least = "1 s",
          .most = "1 h",
          .preset = "30 s",
          .why = "as quoted by others, as above (not used for cells)",
          .rare = true},
    Field{
        .key = "idle",
        .label = "What bank or converter takes for itself while it is on, of the cells",
        .kind = Kind::current,
        .least = "0 mA",
        .most = "1 A",
        .why =
            "no figure is known here, and without one it is left out: see how long yours lasts with nothing "
            "but its keep-alive load",
        .rare = true,
        .may_be_absent = true},
    Field{.key = "pulse",
          .label = "Length of a pulse that keeps it awake",
          .kind = Kind::duration,
          .least = "1 ms",
          .most = "1 min",
          .preset = "1 s",
          .why = "common practice, no source: try it with your bank",
          .rare = true},
    Field{.key = "temperature",
          .label = "Temperature of the cells",
          .kind = Kind::temperature,
          .least = "-20 C",
          .most = "60 C",
          .preset = "20 C",
          .why = "a room"},
    Field{.key = "health",
          .label = "Share of the capacity that age has left",
          .kind = Kind::ratio,
          .least = "10 %",
          .most = "100 %",
          .preset = "100 %",
          .why = "a new one; after some hundred charges 80 % is usual, from memory",
          .rare = true},
    Field{.key = "charger",
          .label = "Power of the charger",
          .kind = Kind::power,
          .least = "0.1 W",
          .most = "200 W",
          .preset = "10 W",
          .why = "5 V and 2 A; the bank's label says what it takes"},
};

}  // namespace

std::span<const Field> battery_fields() { return kFields; }

base::Result<BatteryPlan> battery_plan(const Values& values) {
  BatteryPlan plan{.bank = values.choice("kind") == "bank",
                   .stills = values.choice("use") == "stills",
                   .capacity = values.coulombs("capacity") * static_cast<double>(values.count("count")),
                   .cell = values.volts("cell-voltage"),
                   .cell_least = std::min(values.volts("cell-voltage"), kCellVoltageLeast),
                   .efficiency = values.ratio("efficiency"),
                   .output = values.volts("output"),
                   .streaming = values.amperes("streaming"),
                   .current_spread = values.ratio("current-spread"),
                   .duty = {values.amperes("streaming"), values.seconds("awake"), values.amperes("sleep"),
                            values.seconds("every")},
                   .cut_off = {values.amperes("cut-off"), values.seconds("cut-off-after")},
                   .pulse = values.seconds("pulse"),
                   .air = values.celsius("temperature"),
                   .health = values.ratio("health"),
                   .charger = values.watts("charger")};
  const auto assumed = [&](std::string_view key) {
    return std::any_of(values.entries().begin(), values.entries().end(),
                       [&](const Values::Entry& entry) { return entry.field->key == key && entry.assumed; });
  };
  // A value of the person's own is one value.
  plan.efficiency_least = assumed("efficiency") ? kConverterLeast : plan.efficiency;
  plan.efficiency_most = assumed("efficiency") ? kConverterMost : plan.efficiency;
  if (!assumed("cell-voltage")) plan.cell_least = plan.cell;
  const Amperes high = plan.streaming * (1 + plan.current_spread);
  plan.streaming_most = assumed("streaming") ? std::max(high, kStreamingMost) : high;
  if (values.has("idle")) plan.idle = values.amperes("idle");
  if (values.has("wanted")) plan.wanted = values.seconds("wanted");
  if (plan.duty.awake_for > plan.duty.every) {
    return Error(ErrorCode::invalid_value, "battery: awake",
                 fmt::format("{} awake do not fit into {} from one still to the next", values.text("awake"),
                             values.text("every")),
                 "give a shorter `awake` or a longer `every`; or choose use=streaming");
  }
  if (plan.duty.asleep > plan.duty.awake) {
    return Error(
        ErrorCode::invalid_value, "battery: sleep",
        fmt::format("{} asleep are more than {} awake", values.text("sleep"), values.text("streaming")),
        "look whether the two are exchanged");
  }
  return plan;
}

}  // namespace rookery::plan
