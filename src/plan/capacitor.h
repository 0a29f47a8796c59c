// The capacitor at the board: what a step of current makes of its voltage, and how large it has to be.
#pragma once

#include <optional>
#include <span>

#include "plan/units.h"

namespace rookery::plan {

// More current for a while: a transmission.
struct LoadStep {
  Amperes current;  // more than what the supply gives meanwhile
  Seconds duration;
};

// C = I·Δt / (ΔV − I·ESR), when nothing comes from the supply meanwhile. None when the series resistance
// alone takes all of `allowed`.
std::optional<Farads> needed_capacitance(LoadStep step, Volts allowed, Ohms esr);

// How far the voltage has fallen at the end of the step, when nothing comes from the supply meanwhile:
// I·ESR + I·Δt/C.
Volts sag(LoadStep step, Farads capacitance, Ohms esr);

// How far it has fallen `time` after the step began, when the supply feeds through `path` meanwhile. It comes
// to I·path in the end, whatever the capacitor.
Volts sag_with_supply(Amperes current, Seconds time, Farads capacitance, Ohms esr, Ohms path);

// How long the capacitor alone keeps the fall within `allowed`; 0 when the series resistance alone takes it.
Seconds covered(Amperes current, Volts allowed, Farads capacitance, Ohms esr);

// Usual sizes of electrolytic capacitors, smallest first: 10 µF to 10 mF.
std::span<const Farads> usual_capacitors();

// The least rated voltage that is usual and half as much again as `voltage` (common practice, no source); up
// to 63 V, which serves 42 V.
std::optional<Volts> usual_rating(Volts voltage);

// The chip maker asks for so much where the supply enters. Builders take 100 to 220 µF, as quoted by others;
// 220 to 1000 µF, from memory.
inline const Farads kLeastAtTheEntry = 10_uF;
// What a device may have on a USB port, where it draws a surge when it is plugged in. Source: USB 2.0,
// 7.2.4.1, as quoted by others.
inline const Farads kMostOnUsb = 10_uF;

}  // namespace rookery::plan
