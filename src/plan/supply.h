// The way from where the low voltage begins to the chip: the voltage at each point, the currents of a camera
// board, and which set points keep everything in its limits.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "plan/linear_regulator.h"
#include "plan/units.h"

namespace rookery::plan {

// Where the power comes from.
struct Source {
  std::string_view key;  // the person's word: "supply-24"
  std::string_view name;
  Volts nominal;
  Volts least;
  Volts most;
  std::optional<Amperes> gives;  // what it can give; nothing where only its label says
  bool usb = false;              // a socket with a cable: the wire is a USB cable
  bool mains_inside = false;     // it has screw terminals beside the mains
  std::string_view origin;       // of these values
  // Of `gives`, where that is another.
  std::string_view gives_origin = origin;
};
std::span<const Source> usual_sources();
// Null when there is none of that key.
const Source* find_source(std::string_view key);

// What a camera board takes at its 5 V pin.
struct BoardCurrents {
  Amperes rest;       // joined, listening, no picture
  Amperes streaming;  // on average, as usual
  Amperes chip_peak;  // the radio chip's module while it transmits
  Amperes others;     // sensor, memory and regulator meanwhile
  Amperes lamp;       // more, while the lamp is lit; may be nothing
  // On average at the most: what lasts and makes warm. No less than `streaming`.
  Amperes streaming_most;

  Amperes peak() const { return chip_peak + others; }
  Amperes lit() const { return streaming + lamp; }
  Amperes peak_and_lit() const { return peak() + lamp; }
};

// The mean of a radio that transmits for `share` of the time.
Amperes mean_radio_current(Amperes transmitting, Amperes receiving, double share);

// From the beginning of the wire to the chip.
struct Chain {
  Volts feed;      // where the wire begins: the set point, or the source itself
  Ohms wire;       // both conductors
  Ohms contacts;   // plugs and pins, all together
  Ohms rail_path;  // on the board, from its regulator to the chip
  LinearRegulator regulator;

  Ohms path() const { return wire + contacts; }
};

struct Points {
  Volts pin;   // the board's 5 V pin
  Volts rail;  // behind the board's regulator
  Volts chip;
};
// The voltages while `current` flows into the board's pin; never less than nothing.
Points points_at(const Chain& chain, Amperes current);

// What bounds a set point: the pin's limits, what lies between and the regulator's own spread.
struct SetPointBounds {
  Volts pin_least;       // at the highest current
  Volts pin_most;        // with no current at all, as in sleep
  Amperes current_most;  // the highest current, and the highest resistance that it flows through
  Ohms path_most;
  double spread = 0;  // share by which the output may differ from the set point
};
struct SetPointRange {
  Volts least;
  Volts most;  // less than `least` when there is no such set point

  bool empty() const { return most < least; }
  Volts middle() const { return 0.5 * (least + most); }
};
// The set points that keep the pin in its limits in the worst case.
SetPointRange set_points(const SetPointBounds& bounds);

// The chip's brown-out thresholds, level 0 (as it comes) to 7. Source: the chip maker's sources.
inline constexpr int kBrownOutLevels = 8;
inline const Volts kBrownOutSpread = 0.05_V;  // ± this
Volts brown_out_threshold(int level);         // asserts that there is such a level

}  // namespace rookery::plan
