// What the subject "supply" asks for.
#include <array>
#include <vector>

#include "plan/strand_choice.h"
#include "plan/supply_plan.h"

namespace rookery::plan {
namespace {

constexpr std::array kLampUses = {
    Choice{"never", "Never lit, or there is none"},
    Choice{"picture", "Lit for a picture now and then"},
    Choice{"steady", "Lit for minutes and longer"},
};

constexpr std::array kChips = {
    Choice{"newer", "Newer module: 3.0 V at the least"},
    Choice{"older", "Older module: 2.7 V at the least"},
};

std::vector<Choice> source_choices() {
  std::vector<Choice> out;
  for (const Source& source : usual_sources()) out.push_back({source.key, source.name});
  out.push_back({"other", "Another source of low voltage (give source-voltage)"});
  return out;
}

std::vector<Choice> regulator_choices() {
  std::vector<Choice> out;
  for (const BuckKind& kind : buck_kinds()) out.push_back({kind.key, kind.name});
  out.push_back({"none", "None: the source's 5 V go straight to the board"});
  return out;
}

std::vector<Field> what_is_chosen() {
  static const std::vector<Choice> kSources = source_choices();
  static const std::vector<Choice> kRegulators = regulator_choices();
  return {
      {.key = "source", .label = "Where the power comes from", .kind = Kind::choice, .choices = kSources},
      {.key = "regulator",
       .label = "Regulator between source and wire",
       .kind = Kind::choice,
       .why = "the number on its largest chip",
       .choices = kRegulators},
      {.key = "set-point",
       .label = "Voltage that the regulator is set to",
       .kind = Kind::voltage,
       .least = "2 V",
       .most = "15 V",
       .preset = "5.2 V",
       .why = "common practice, no source: boards drop out at a bare 5.0 V (not used without a regulator)"},
      {.key = "length",
       .label = "Length of wire or cable to the board, one way",
       .kind = Kind::length,
       .least = "1 cm",
       .most = "100 m",
       .example = "2 m"},
      {.key = "size",
       .label = "Size of each conductor",
       .kind = Kind::wire_size,
       .least = "0.005 mm2",
       .most = "16 mm2",
       .why = "printed on the jacket; a USB cable's power pair is often 28 AWG, in better ones 24 or 22",
       .example = "0.5 mm2"},
      {.key = "strands",
       .label = "How the conductor is made",
       .kind = Kind::choice,
       .preset = "flexible",
       .why = "the most that the standard allows",
       .choices = strand_choices()},
      {.key = "lamp",
       .label = "The board's lamp",
       .kind = Kind::choice,
       .preset = "picture",
       .why = "its current is reckoned with, its lasting heat is not",
       .choices = kLampUses},
      {.key = "boards",
       .label = "Boards on this source and regulator, each with a wire of its own",
       .kind = Kind::count,
       .least = "1",
       .most = "50",
       .preset = "1",
       .why = "one regulator a board"},
      {.key = "feed-length",
       .label = "Length of the wire from the source to the regulator, one way",
       .kind = Kind::length,
       .least = "1 cm",
       .most = "100 m",
       .preset = "1 m",
       .why = "common practice, no source: measure yours (not used without a regulator)"},
      {.key = "feed-size",
       .label = "Size of each of its conductors",
       .kind = Kind::wire_size,
       .least = "0.005 mm2",
       .most = "16 mm2",
       .preset = "0.75 mm2",
       .why = "common practice, no source: printed on its jacket (not used without a regulator)"},
      {.key = "temperature",
       .label = "Air around the board, the wires and the regulator",
       .kind = Kind::temperature,
       .least = "-40 C",
       .most = "85 C",
       .preset = "40 C",
       .why = "common practice beside a machine; the module's own range ends at 85 °C"},
  };
}

std::vector<Field> what_the_board_takes() {
  return {
      {.key = "rest",
       .label = "Board's current at rest, radio listening",
       .kind = Kind::current,
       .least = "0 mA",
       .most = "2 A",
       .preset = "110 mA",
       .why = "a packaged module while it receives, its data sheet"},
      {.key = "streaming",
       .label = "Board's current streaming, on average, as usual",
       .kind = Kind::current,
       .least = "1 mA",
       .most = "3 A",
       .preset = "190 mA",
       .why =
           "measured on a board, as quoted by others; heat, fuse and source are held against streaming-most"},
      {.key = "streaming-most",
       .label = "The same at the most",
       .kind = Kind::current,
       .least = "1 mA",
       .most = "3 A",
       .preset = "300 mA",
       .why =
           "the module's average while it transmits in 802.11b, 233 mA by its data sheet, and 62 mA of the "
           "others: 295 mA; where `streaming` is given, that"},
      {.key = "chip-peak",
       .label = "Radio module's current while it transmits",
       .kind = Kind::current,
       .least = "1 mA",
       .most = "3 A",
       .preset = "368 mA",
       .why = "peak of a packaged module in 802.11b, its data sheet"},
      {.key = "others",
       .label = "Sensor, memory and regulator meanwhile",
       .kind = Kind::current,
       .least = "0 mA",
       .most = "2 A",
       .preset = "62 mA",
       .why = "190 mA streaming, as quoted by others, less the chip's 128 mA (20 % transmitting at 240 mA, "
              "else 100 mA)"},
      {.key = "lamp-current",
       .label = "Lamp's current",
       .kind = Kind::current,
       .least = "0 mA",
       .most = "3 A",
       .preset = "250 mA",
       .why = "440 mA measured with the lamp on, less 190 mA without, as quoted by others"},
      {.key = "current-spread",
       .label = "How much a board's currents may differ",
       .kind = Kind::ratio,
       .least = "0 %",
       .most = "50 %",
       .preset = "10 %",
       .why = "common practice, no source"},
      {.key = "contacts",
       .label = "Plugs and pins on the way, all together",
       .kind = Kind::resistance,
       .least = "0 ohm",
       .most = "10 ohm",
       .preset = "60 mohm",
       .why = "half of four USB contacts at 30 mΩ each, the most when new (from memory); from half to twice "
              "that is reckoned with"},
      {.key = "fuse",
       .label = "Fuse in the board's wire, with its holder",
       .kind = Kind::resistance,
       .least = "0 ohm",
       .most = "5 ohm",
       .preset = "100 mohm",
       .why = "a 1 A link of glass, from memory; not reckoned with on USB, where none is put in"},
      {.key = "board-most",
       .label = "Most that the board's 5 V pin may get",
       .kind = Kind::voltage,
       .least = "3 V",
       .most = "15 V",
       .preset = "5.5 V",
       .why = "5 V parts + 10 %, common practice, no source; the regulator alone would bear 15 V"},
      {.key = "chip",
       .label = "Radio module",
       .kind = Kind::choice,
       .preset = "newer",
       .why = "the one that needs more",
       .choices = kChips},
      {.key = "brown-out-level",
       .label = "Chip's brown-out level, 0 to 7",
       .kind = Kind::count,
       .least = "0",
       .most = "7",
       .preset = "0",
       .why = "as the chip maker's sources have it unless a program changes it: 2.43 V"},
      {.key = "rail-path",
       .label = "Track from the board's regulator to the chip",
       .kind = Kind::resistance,
       .least = "0 ohm",
       .most = "5 ohm",
       .preset = "30 mohm",
       .why = "3 cm of a track 0.5 mm wide in copper of 35 µm; common practice, no source"},
      {.key = "linear-heat-resistance",
       .label = "Board's regulator, junction to air",
       .kind = Kind::heat_resistance,
       .least = "15 K/W",
       .most = "300 K/W",
       .preset = "90 K/W",
       .why = "46 to over 90 K/W as quoted by others for the 1117 family, by its copper: the cautious end"},
  };
}

std::vector<Field> what_the_source_gives() {
  return {
      {.key = "source-voltage",
       .label = "Source's voltage, when measured or another",
       .kind = Kind::voltage,
       .least = "3 V",
       .most = "60 V",
       .why = "else what its kind has",
       .may_be_absent = true},
      {.key = "source-least",
       .label = "Source's least voltage",
       .kind = Kind::voltage,
       .least = "2 V",
       .most = "60 V",
       .why = "else what its kind has",
       .may_be_absent = true},
      {.key = "source-most",
       .label = "Source's highest voltage",
       .kind = Kind::voltage,
       .least = "3 V",
       .most = "70 V",
       .why = "else what its kind has",
       .may_be_absent = true},
      {.key = "source-current",
       .label = "Current that the source can spare",
       .kind = Kind::current,
       .least = "10 mA",
       .most = "100 A",
       .why = "its label, less what the machine takes; else what its kind has",
       .may_be_absent = true},
  };
}

std::vector<Field> what_the_regulator_is_made_of() {
  return {
      {.key = "set-spread",
       .label = "How far the regulator's output may differ from where it was set",
       .kind = Kind::ratio,
       .least = "0 %",
       .most = "15 %",
       .why = "else as its reference may, over line, load, temperature and specimens",
       .may_be_absent = true},
      {.key = "efficiency",
       .label = "Regulator's efficiency",
       .kind = Kind::ratio,
       .least = "30 %",
       .most = "98 %",
       .why = "else what its kind has at a camera's currents",
       .may_be_absent = true},
      {.key = "buck-heat-resistance",
       .label = "Buck regulator, junction to air",
       .kind = Kind::heat_resistance,
       .least = "5 K/W",
       .most = "200 K/W",
       .preset = "50 K/W",
       .why = "from memory: such a package on little copper"},
      {.key = "frequency",
       .label = "Regulator's switching frequency",
       .kind = Kind::frequency,
       .least = "20 kHz",
       .most = "3 MHz",
       .why = "else what its kind has; of the 28 V kind the lowest",
       .may_be_absent = true},
      {.key = "inductance",
       .label = "Its coil",
       .kind = Kind::inductance,
       .least = "1 uH",
       .most = "1 mH",
       .why = "else 33 µH for the 40 V kind, printed 330 on usual modules: common practice, no source; of "
              "other kinds not known",
       .may_be_absent = true},
      {.key = "output-capacitor",
       .label = "Capacitor behind it",
       .kind = Kind::capacitance,
       .least = "1 uF",
       .most = "10 mF",
       .why = "else 220 µF for the 40 V kind, on usual modules: common practice, no source; of other kinds "
              "not known",
       .may_be_absent = true},
      {.key = "output-esr",
       .label = "That capacitor's series resistance",
       .kind = Kind::resistance,
       .least = "0 ohm",
       .most = "5 ohm",
       .why = "else 0.1 Ω for the 40 V kind, usual for a small electrolytic: common practice, no source; of "
              "other kinds not known",
       .may_be_absent = true},
      {.key = "r1",
       .label = "Resistor between feedback and ground (R1)",
       .kind = Kind::resistance,
       .least = "10 ohm",
       .most = "1 Mohm",
       .why = "read it off; else 330 Ω for the 40 V kind, on usual modules: common practice, no source; of "
              "other kinds not known",
       .may_be_absent = true},
      {.key = "trimmer",
       .label = "Trimmer that stands for R2",
       .kind = Kind::resistance,
       .least = "100 ohm",
       .most = "10 Mohm",
       .why = "read it off; else 10 kΩ for the 40 V kind, on usual modules: common practice, no source; of "
              "other kinds not known",
       .may_be_absent = true},
      {.key = "turns",
       .label = "Turns of the trimmer, end to end",
       .kind = Kind::count,
       .least = "1",
       .most = "50",
       .why = "else 25 for the 40 V kind, by a multi-turn trimmer's data sheet; of other kinds not known",
       .may_be_absent = true},
  };
}

}  // namespace

std::span<const Field> supply_fields() {
  static const std::vector<Field> kFields = [] {
    std::vector<Field> out = what_is_chosen();
    for (const auto& part :
         {what_the_board_takes(), what_the_source_gives(), what_the_regulator_is_made_of()}) {
      for (Field field : part) {
        field.rare = true;
        out.push_back(field);
      }
    }
    return out;
  }();
  return kFields;
}

}  // namespace rookery::plan
