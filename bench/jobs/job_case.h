// One seeded job of a make-believe printer: what is made, in which light, and what goes wrong.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "bench/lapse/grid_camera.h"
#include "jpeg/luma_grid.h"

namespace rookery::bench {

enum class Trouble : std::uint8_t {
  none,      // it is finished at its end, and the part stands there
  pause,     // everything stands still for one to four minutes, then goes on
  stall,     // everything stands still for good
  detached,  // the part comes off
  mess,      // strands grow beside it
  dry,       // the head moves, nothing grows
  covered,   // something lies on the lens: grey, or nearly black
  knocked,   // the camera looks elsewhere
};
inline constexpr int kTroubles = 8;
std::string_view name_of(Trouble trouble);

struct JobCase {
  std::uint64_t seed = 0;
  std::string scene;
  sim::PrintedKind kind = sim::PrintedKind::vase;
  Light light = Light::steady;
  float layer_s = 20;
  Trouble trouble = Trouble::none;
  double trouble_at_s = 0;
  double pause_s = 0;
  double ends_s = 0;   // the print's own end
  double lasts_s = 0;  // of the pictures

  std::string text() const;
};

// By the seed alone. Troubles take turns; half of the jobs have none or a pause.
JobCase make_case(std::uint64_t seed);

// Hands out the stills, one each `every_s`, in order. Throws what is wrong with the case.
void film_case(const JobCase& job, double every_s,
               const std::function<void(const jpeg::LumaGrid&, double at_s)>& take);

}  // namespace rookery::bench
