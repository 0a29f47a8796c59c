// Quantities with their units in the type, so that volts are never added to amperes. Boost.Units in SI; what
// is written 5.2_V, 310_mA or 0.5_mm2 is one of these.
#pragma once

#include <boost/units/base_units/information/byte.hpp>
#include <boost/units/cmath.hpp>
#include <boost/units/quantity.hpp>
#include <boost/units/systems/information/byte.hpp>
#include <boost/units/systems/si/area.hpp>
#include <boost/units/systems/si/capacitance.hpp>
#include <boost/units/systems/si/current.hpp>
#include <boost/units/systems/si/electric_charge.hpp>
#include <boost/units/systems/si/electric_potential.hpp>
#include <boost/units/systems/si/energy.hpp>
#include <boost/units/systems/si/frequency.hpp>
#include <boost/units/systems/si/inductance.hpp>
#include <boost/units/systems/si/length.hpp>
#include <boost/units/systems/si/power.hpp>
#include <boost/units/systems/si/resistance.hpp>
#include <boost/units/systems/si/temperature.hpp>
#include <boost/units/systems/si/time.hpp>
#include <boost/units/systems/si/velocity.hpp>
#include <cmath>
#include <compare>

namespace rookery::plan {

using Volts = boost::units::quantity<boost::units::si::electric_potential>;
using Amperes = boost::units::quantity<boost::units::si::current>;
using Ohms = boost::units::quantity<boost::units::si::resistance>;
using Watts = boost::units::quantity<boost::units::si::power>;
using Joules = boost::units::quantity<boost::units::si::energy>;
using Coulombs = boost::units::quantity<boost::units::si::electric_charge>;
using Farads = boost::units::quantity<boost::units::si::capacitance>;
using Henries = boost::units::quantity<boost::units::si::inductance>;
using Hertz = boost::units::quantity<boost::units::si::frequency>;
using Seconds = boost::units::quantity<boost::units::si::time>;
using Metres = boost::units::quantity<boost::units::si::length>;
using MetresPerSecond = boost::units::quantity<boost::units::si::velocity>;
using SquareMetres = boost::units::quantity<boost::units::si::area>;
using Kelvins = boost::units::quantity<boost::units::si::temperature>;  // differences only; see Celsius
using Bytes = boost::units::quantity<boost::units::information::hu::byte::info>;

using OhmMetres = decltype(Ohms() * Metres());
using OhmsPerMetre = decltype(Ohms() / Metres());
using KelvinsPerWatt = decltype(Kelvins() / Watts());
using PerKelvin = decltype(1.0 / Kelvins());
using PerMetre = decltype(1.0 / Metres());  // pixels on a metre of the target
using BytesPerSecond = decltype(Bytes() / Seconds());

// A temperature on the Celsius scale: two of them differ by kelvins and are never added.
struct Celsius {
  double degrees = 0;

  auto operator<=>(const Celsius&) const = default;
};

inline Kelvins operator-(Celsius a, Celsius b) { return Kelvins::from_value(a.degrees - b.degrees); }
inline Celsius operator+(Celsius a, Kelvins rise) { return {a.degrees + rise.value()}; }
inline Celsius operator-(Celsius a, Kelvins fall) { return {a.degrees - fall.value()}; }

// An angle, as people say it.
struct Degrees {
  double degrees = 0;

  double radians() const { return degrees * M_PI / 180; }
  auto operator<=>(const Degrees&) const = default;
};

// A level over one milliwatt, and what lies between two levels.
struct Decibels {
  double db = 0;

  auto operator<=>(const Decibels&) const = default;
};
struct Dbm {
  double dbm = 0;

  auto operator<=>(const Dbm&) const = default;
};

inline Decibels operator-(Dbm a, Dbm b) { return {a.dbm - b.dbm}; }
inline Decibels operator+(Decibels a, Decibels b) { return {a.db + b.db}; }
inline Dbm operator-(Dbm a, Decibels loss) { return {a.dbm - loss.db}; }
inline Dbm operator+(Dbm a, Decibels gain) { return {a.dbm + gain.db}; }

inline namespace literals {

#define ROOKERY_UNIT(suffix, Type, factor)                                                    \
  inline auto operator""_##suffix(long double value) {                                        \
    return Type::from_value(static_cast<double>(value * (factor)));                           \
  }                                                                                           \
  inline auto operator""_##suffix(unsigned long long value) {                                 \
    return Type::from_value(static_cast<double>(static_cast<long double>(value) * (factor))); \
  }

ROOKERY_UNIT(V, Volts, 1.0L)
ROOKERY_UNIT(mV, Volts, 1e-3L)
ROOKERY_UNIT(A, Amperes, 1.0L)
ROOKERY_UNIT(mA, Amperes, 1e-3L)
ROOKERY_UNIT(uA, Amperes, 1e-6L)
ROOKERY_UNIT(ohm, Ohms, 1.0L)
ROOKERY_UNIT(kohm, Ohms, 1e3L)
ROOKERY_UNIT(W, Watts, 1.0L)
ROOKERY_UNIT(Wh, Joules, 3600.0L)
ROOKERY_UNIT(mAh, Coulombs, 3.6L)
ROOKERY_UNIT(Ah, Coulombs, 3600.0L)
ROOKERY_UNIT(uF, Farads, 1e-6L)
ROOKERY_UNIT(uH, Henries, 1e-6L)
ROOKERY_UNIT(Hz, Hertz, 1.0L)
ROOKERY_UNIT(kHz, Hertz, 1e3L)
ROOKERY_UNIT(s, Seconds, 1.0L)
ROOKERY_UNIT(ms, Seconds, 1e-3L)
ROOKERY_UNIT(us, Seconds, 1e-6L)
ROOKERY_UNIT(h, Seconds, 3600.0L)
ROOKERY_UNIT(m, Metres, 1.0L)
ROOKERY_UNIT(mm, Metres, 1e-3L)
ROOKERY_UNIT(um, Metres, 1e-6L)
ROOKERY_UNIT(mm2, SquareMetres, 1e-6L)
ROOKERY_UNIT(K, Kelvins, 1.0L)
ROOKERY_UNIT(B, Bytes, 1.0L)

#undef ROOKERY_UNIT

inline Degrees operator""_deg(long double value) { return {static_cast<double>(value)}; }
inline Degrees operator""_deg(unsigned long long value) { return {static_cast<double>(value)}; }
inline Celsius operator""_C(long double value) { return {static_cast<double>(value)}; }
inline Celsius operator""_C(unsigned long long value) { return {static_cast<double>(value)}; }

}  // namespace literals
}  // namespace rookery::plan
