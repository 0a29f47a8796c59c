// Which board is which: from what is known of a board to whether it is one that the station knows.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/name.h"
#include "camera/settings.h"
#include "net/neighbours.h"

namespace rookery::camera {

// What is known of one board, whatever it was learned from. Empty and none: not known. immutable value.
struct BoardEvidence {
  std::optional<net::HardwareAddress> hardware;
  std::string announced;    // its service's name
  std::string host;         // its announced host name, lower case: "bobbin.local"
  std::string fingerprint;  // BoardAnswers::fingerprint
  bool operator==(const BoardEvidence&) const = default;
};

enum class Sureness {
  sure,    // by its hardware address
  likely,  // by announced name and like answers
  weak,    // by one of these alone
  none,    // nothing is known
};
// "sure", "likely", "weak", "none".
std::string_view name_of(Sureness sureness);

struct BoardIdentity {
  std::string key;  // "hw:02:00:5e:00:53:11", "name:bobbin/0123456789abcdef", "name:bobbin", "fp:…"; or empty
  Sureness sureness = Sureness::none;
};
// The hardware address where it is known, else the announced name, else the fingerprint of answers.
BoardIdentity identify(const BoardEvidence& evidence);

// A board of which the station has a camera.
struct KnownBoard {
  base::CameraName camera;
  std::vector<std::string> hosts;  // of the addresses in its settings, and what they were looked up to; no
                                   // brackets, lower case
  BoardEvidence evidence;          // as stored

  explicit KnownBoard(base::CameraName camera_) : camera(std::move(camera_)) {}
};

// A camera's board by its settings alone.
KnownBoard known_board(const Settings& settings);

struct BoardMatch {
  base::CameraName camera;
  Sureness sureness;
  std::string by;            // for people: "its hardware address", "its address", "its announced name"
  bool at_settings_address;  // it is where the camera's settings say
};

// Whether what was found, at these addresses, is one of those. A hardware address that differs says no,
// whatever else agrees: another board may have taken the name or the address.
std::optional<BoardMatch> match(const BoardEvidence& found, const std::vector<std::string>& found_addresses,
                                std::span<const KnownBoard> known);

}  // namespace rookery::camera
