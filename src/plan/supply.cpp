#include "plan/supply.h"

#include <algorithm>
#include <array>
#include <cassert>

namespace rookery::plan {

// USB: VBUS 4.75 to 5.25 V, 4.40 V at a low-power port, and the currents, quoted from the specifications. The
// ± 10 % of a machine's supply and what a power bank gives: common practice, no source.
std::span<const Source> usual_sources() {
  static const std::array kSources = {
      Source{.key = "supply-24",
             .name = "24 V supply of a printer or another machine",
             .nominal = 24_V,
             .least = 21.6_V,
             .most = 26.4_V,
             .gives = std::nullopt,
             .mains_inside = true,
             .origin = "24 V ± 10 %, common practice, no source"},
      Source{.key = "supply-12",
             .name = "12 V supply of a printer or another machine",
             .nominal = 12_V,
             .least = 10.8_V,
             .most = 13.2_V,
             .gives = std::nullopt,
             .mains_inside = true,
             .origin = "12 V ± 10 %, common practice, no source"},
      Source{.key = "usb-port",
             .name = "USB 2.0 port of a computer or a powered hub",
             .nominal = 5_V,
             .least = 4.75_V,
             .most = 5.25_V,
             .gives = 0.5_A,
             .usb = true,
             .origin = "USB 2.0: 4.75 to 5.25 V, 500 mA, as quoted by others"},
      Source{.key = "usb3-port",
             .name = "USB 3 port",
             .nominal = 5_V,
             .least = 4.75_V,
             .most = 5.25_V,
             .gives = 0.9_A,
             .usb = true,
             .origin = "USB: 4.75 to 5.25 V; USB 3: 900 mA, as quoted by others"},
      Source{.key = "usb-low-power",
             .name = "Low-power USB 2.0 port, as of a hub without a supply of its own",
             .nominal = 5_V,
             .least = 4.40_V,
             .most = 5.25_V,
             .gives = 0.1_A,
             .usb = true,
             .origin = "USB 2.0: down to 4.40 V at a low-power port, 100 mA, as quoted by others"},
      Source{.key = "charger",
             .name = "USB charger, 5 V",
             .nominal = 5_V,
             .least = 4.75_V,
             .most = 5.25_V,
             .gives = 1.5_A,
             .usb = true,
             .origin = "USB: 4.75 to 5.25 V; BC 1.2 charging port: 1.5 A, as quoted by others"},
      Source{.key = "power-bank",
             .name = "Power bank, 5 V socket",
             .nominal = 5_V,
             .least = 4.75_V,
             .most = 5.25_V,
             .gives = 2_A,
             .usb = true,
             .origin =
                 "USB: 4.75 to 5.25 V, as quoted by others; 2 A, common practice, no source: read its label"},
  };
  return kSources;
}

const Source* find_source(std::string_view key) {
  const auto all = usual_sources();
  const auto at = std::find_if(all.begin(), all.end(), [&](const Source& each) { return each.key == key; });
  return at == all.end() ? nullptr : &*at;
}

Amperes mean_radio_current(Amperes transmitting, Amperes receiving, double share) {
  return transmitting * share + receiving * (1 - share);
}

Points points_at(const Chain& chain, Amperes current) {
  const Volts pin = std::max(chain.feed - chain.path() * current, 0_V);
  const Volts rail = rail_from(chain.regulator, pin);
  const Amperes onward = std::max(current - chain.regulator.quiescent, 0_A);
  return {pin, rail, std::max(rail - chain.rail_path * onward, 0_V)};
}

SetPointRange set_points(const SetPointBounds& bounds) {
  return {(bounds.pin_least + bounds.path_most * bounds.current_most) / (1 - bounds.spread),
          bounds.pin_most / (1 + bounds.spread)};
}

Volts brown_out_threshold(int level) {
  static constexpr std::array<double, kBrownOutLevels> kThresholds = {2.43, 2.48, 2.58, 2.62,
                                                                      2.67, 2.70, 2.77, 2.80};
  assert(level >= 0 && level < kBrownOutLevels);
  return Volts::from_value(kThresholds[static_cast<std::size_t>(level)]);
}

}  // namespace rookery::plan
