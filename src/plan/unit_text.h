// Values as a person types and reads them: "5,2 V", "24VDC", "0.5mm2", "22 awg", "500 mA".
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace rookery::plan {

// What kind of value it is. In memory each kind is one number in the unit that stands beside it.
enum class Kind {
  voltage,          // V
  current,          // A
  power,            // W
  resistance,       // Ω
  energy,           // J
  charge,           // C
  capacitance,      // F
  inductance,       // H
  frequency,        // Hz
  duration,         // s
  length,           // m
  speed,            // m/s
  wire_size,        // m², the cross-section of a conductor
  temperature,      // °C
  heat_resistance,  // K/W
  ratio,            // 1; written as a percentage
  count,            // 1; whole
  number,           // 1
  angle,            // degrees
  level,            // dBm
  loss,             // dB
  bytes,            // B
  byte_rate,        // B/s
  bit_rate,         // bit/s
  rate,             // 1/s: pictures a second
  density,          // px/m
  pixels,           // px; whole
  money,            // in whatever money the person counts
  choice,           // one of a list's words
  words,            // free text
};

// Reads `text` as a value of `kind`. A number with a decimal point or a decimal comma, then a unit of that
// kind (with or without a space, in any case but that of m and M); a bare number is in
// the kind's usual unit, the first of accepted_forms. Errors: invalid_value (`where` names the field; the
// detail holds the text as base::printable shows it, the remedy `forms`, which is accepted_forms unless the
// caller knows better), also for NaN, infinity, a comma that may be a thousands mark ("1,500"), and a bare
// share of 1 or more, which may be meant in percent.
base::Result<double> read_value(std::string_view text, Kind kind, const std::string& where,
                                std::string_view forms = {});

// The value with a unit of fitting size, to `digits` significant digits: "310 mA", "0.5 mm²", "5.20 V".
std::string show_value(double value, Kind kind, int digits = 3);

// Examples of what read_value takes: "5.2 V, 5,2 V, 5200 mV". The same string for a kind, always.
std::string_view accepted_forms(Kind kind);

// A unit that people type, and how much of the kind's own unit it is.
struct UnitName {
  std::string_view text;  // "mV"; a µ is a u, a ² a 2, a ° is deg
  double factor = 1;
  bool shown = false;  // show_value writes it, as `shown_as`
  std::string_view shown_as;
};
// All units of a kind.
std::vector<UnitName> units_of(Kind kind);

// The unit that a bare number of this kind is in ("V"); empty where there is none.
std::string_view usual_unit(Kind kind);

// The kind's word in JSON: "voltage", "wire-size".
std::string_view name_of(Kind kind);

// The cross-section of an American wire gauge number, in m². -3 (0000) to 40. Source: ASTM B258,
// d = 0.127·92^((36−n)/39) mm.
double awg_area(int gauge);
// The gauge number whose cross-section is nearest to `area` (m²), for reading: "about 20 AWG".
double awg_of_area(double area);

}  // namespace rookery::plan
