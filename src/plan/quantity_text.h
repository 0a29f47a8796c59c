// Quantities as people read them: unit_text.h's show_value for each type.
#pragma once

#include <string>

#include "plan/unit_text.h"
#include "plan/units.h"

namespace rookery::plan {

inline std::string shown(Volts value, int digits = 3) {
  return show_value(value.value(), Kind::voltage, digits);
}
inline std::string shown(Amperes value, int digits = 3) {
  return show_value(value.value(), Kind::current, digits);
}
inline std::string shown(Ohms value, int digits = 3) {
  return show_value(value.value(), Kind::resistance, digits);
}
inline std::string shown(Watts value, int digits = 3) {
  return show_value(value.value(), Kind::power, digits);
}
inline std::string shown(Joules value, int digits = 3) {
  return show_value(value.value(), Kind::energy, digits);
}
inline std::string shown(Coulombs value, int digits = 3) {
  return show_value(value.value(), Kind::charge, digits);
}
inline std::string shown(Farads value, int digits = 3) {
  return show_value(value.value(), Kind::capacitance, digits);
}
inline std::string shown(Henries value, int digits = 3) {
  return show_value(value.value(), Kind::inductance, digits);
}
inline std::string shown(Hertz value, int digits = 3) {
  return show_value(value.value(), Kind::frequency, digits);
}
inline std::string shown(Seconds value, int digits = 3) {
  return show_value(value.value(), Kind::duration, digits);
}
inline std::string shown(Metres value, int digits = 3) {
  return show_value(value.value(), Kind::length, digits);
}
inline std::string shown(Kelvins value, int digits = 3) {
  return show_value(value.value(), Kind::number, digits) + " K";
}
inline std::string shown(KelvinsPerWatt value, int digits = 3) {
  return show_value(value.value(), Kind::heat_resistance, digits);
}
inline std::string shown(Celsius value, int digits = 3) {
  return show_value(value.degrees, Kind::temperature, digits);
}

}  // namespace rookery::plan
