#include "camera/cause_kind.h"

namespace rookery::camera {
namespace {

constexpr std::array<std::string_view, kCauses> kNames{"supply", "radio",  "hang",   "network",
                                                       "viewer", "sensor", "station"};
constexpr std::array<std::string_view, kCauses> kTitles{"supply",
                                                        "radio",
                                                        "hang or heat",
                                                        "network or address",
                                                        "another viewer",
                                                        "sensor or ribbon",
                                                        "station overloaded"};

}  // namespace

std::string_view name_of(Cause cause) { return kNames.at(static_cast<std::size_t>(cause)); }
std::string_view title_of(Cause cause) { return kTitles.at(static_cast<std::size_t>(cause)); }

std::optional<Cause> cause_of(CauseKind kind) {
  switch (kind) {
    case CauseKind::brown_out:
    case CauseKind::switched_off:
      return Cause::supply;
    case CauseKind::fade:
      return Cause::radio;
    case CauseKind::watchdog:
    case CauseKind::frees_itself:
    case CauseKind::until_cycled:
    case CauseKind::frozen:
    case CauseKind::leak:
      return Cause::hang;
    case CauseKind::access_point:
    case CauseKind::moved:
    case CauseKind::conflict:
      return Cause::network;
    case CauseKind::viewer:
      return Cause::viewer;
    case CauseKind::no_picture:
    case CauseKind::bad_picture:
      return Cause::sensor;
    case CauseKind::overload:
      return Cause::station;
    case CauseKind::hiccup:
      break;
  }
  return std::nullopt;
}

std::optional<Cause> dropout_cause_of(std::string_view word) {
  for (std::size_t n = 0; n < kCauses; ++n) {
    if (kNames[n] == word) return static_cast<Cause>(n);
  }
  return std::nullopt;
}

double share_of(Cause cause, const KindShares& shares) {
  double sum = 0;
  for (std::size_t kind = 0; kind < kKinds; ++kind) {
    if (cause_of(static_cast<CauseKind>(kind)) == cause) sum += shares[kind];
  }
  return sum;
}

}  // namespace rookery::camera
