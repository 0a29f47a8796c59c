// One seeded job of a make-believe printer: what is made, in which light, and what happens meanwhile.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "bench/lapse/grid_camera.h"
#include "jpeg/luma_grid.h"
#include "sim/print_job.h"

namespace rookery::bench {

// What a job is there to show; other things may happen in it as well.
enum class Trouble : std::uint8_t {
  none,      // it is finished at its end, and the part stands there
  pause,     // everything stands still for one to four minutes in mid-layer, then goes on
  spool,     // the head stands aside for one to four minutes, and a hand comes and goes
  stall,     // everything stands still for good
  detached,  // the part comes off
  mess,      // strands grow instead of it
  dry,       // the head moves, nothing grows
  shift,     // layers stand aside from here on
  covered,   // something lies on the lens
  knocked,   // the camera looks elsewhere
  unsharp,   // it is out of focus
};
inline constexpr int kTroubles = 11;
std::string_view name_of(Trouble trouble);

struct JobCase {
  std::uint64_t seed = 0;
  bool held = false;  // of shapes and faults that are kept for scoring only
  std::string scene;
  sim::PrintedKind kind = sim::PrintedKind::vase;
  Light light = Light::steady;
  float layer_s = 20;
  Trouble trouble = Trouble::none;
  double trouble_at_s = 0;
  std::vector<sim::JobEvent> events{};
  double ends_s = 0;   // the print's own end
  double lasts_s = 0;  // of the pictures

  std::string text() const;
};

// By the seed alone. Troubles take turns, twenty to a round: four have none, three a pause, four a part that
// comes off, three a mess, two a stall.
JobCase make_case(std::uint64_t seed, bool held);

struct JobStill {
  double at_s = 0;
  jpeg::LumaGrid grid;
  sim::JobTruth truth;
};
// Hands out the stills, one each `every_s`, in order. Throws what is wrong with the case.
void film_case(const JobCase& job, double every_s, const std::function<void(const JobStill&)>& take);

}  // namespace rookery::bench
