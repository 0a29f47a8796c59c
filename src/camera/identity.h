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
  std::string fingerprint;  // camera/fingerprint.h
  bool operator==(const BoardEvidence&) const = default;
};

enum class Sureness {
  sure,    // by its hardware address
  likely,  // by announced name and like answers
  weak,    // by one of these alone; by answers only a camera that is missing
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
  bool is_missing = false;         // it is known that it gives no pictures where it should be

  explicit KnownBoard(base::CameraName camera_) : camera(std::move(camera_)) {}
};

// A camera's board by its settings alone.
KnownBoard known_board(const Settings& settings);

struct BoardMatch {
  base::CameraName camera;
  Sureness sureness;
  std::string by;  // for people: "its hardware address", "its address", "its announced name", "its answers"
  bool at_settings_address;  // it is where the camera's settings say
};

// Whether what was found, at these addresses, is one of those. A hardware address that differs says no,
// whatever else agrees: another board may have taken the name or the address.
std::optional<BoardMatch> match(const BoardEvidence& found, const std::vector<std::string>& found_addresses,
                                std::span<const KnownBoard> known);

// Which of those that were found and are no known one has the answers of this camera, which is missing:
// boards of one kind answer alike, so there must be one only, and none that contradicts otherwise. None when
// any of the other missing ones would do as well.
std::optional<std::size_t> match_by_answers(const KnownBoard& missing, std::span<const KnownBoard> known,
                                            std::span<const BoardEvidence> strangers);

}  // namespace rookery::camera
