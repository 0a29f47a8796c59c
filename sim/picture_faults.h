// What a board's faults do to its picture, before it is encoded. Pure.
#pragma once

#include "sim/canvas.h"
#include "sim/faults.h"

namespace rookery::sim {

// knocked, blur, supply_sag, mains_bands; lengths are taken for 640 wide and scaled. `t` rolls the bands.
void apply_optics(Picture& picture, const ActiveFaults& faults, SceneTime t);
// Out of focus; radius in px of 640.
void blur(Picture& picture, double radius);
// How long a boot's exposure takes to settle; after that apply_settling() changes nothing.
inline constexpr base::Microseconds kSettling{4'500'000};
// A boot's first seconds: two dark green pictures, then brightness and colour settle within about 4 s.
void apply_settling(Picture& picture, base::Microseconds since_boot);
// Sensor noise of that standard deviation, from `salt`: the same salt gives the same noise.
void add_noise(Picture& picture, float deviation, std::uint32_t salt);
// green_band; goes over everything, the clock too.
void apply_green_band(Picture& picture, double part);
// Half the width and height.
Picture halved(const Picture& picture);
// Fills `large` from a picture of half its width and height, smoothly.
void double_into(Picture& large, const Picture& small);

}  // namespace rookery::sim
