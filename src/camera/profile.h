// Profile: how one kind of board is spoken to. A TOML file; three are part of the program, own ones stand in
// <home>/profiles/.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "net/address.h"

namespace rookery::camera {

// Where on the board something is asked for.
struct ProfilePlace {
  std::uint16_t port = 80;
  std::string path = "/";       // begins with "/"; in `control` holds {key} and {value}
  bool while_streaming = true;  // answered although somebody streams
};

struct ProfileLamp {
  std::string key;
  int on = 255;
  int off = 0;
};

struct ValueRange {
  int least = 0;
  int most = 0;
};

// By which the size of pictures is set, and which values `prove` may try: their numbers mean other sizes in
// other versions of boards' programs, so the pictures tell.
struct ProfileSizes {
  std::string key;         // of control and of status
  std::vector<int> steps;  // one to three
};

// How long the sensor takes to read one row, in pictures of this height.
struct Readout {
  int height_px = 0;
  double row_time_us = 0;
};

// What `find` tries beyond the places above, on boards that are otherwise of this kind.
struct FindHints {
  std::vector<std::string> still_paths, stream_paths;  // at the ports of still and stream
  std::vector<std::uint16_t> ports;                    // at which the whole is found as well
};

// immutable value.
struct Profile {
  std::string name;   // of the file, without .toml
  std::string title;  // for people
  std::optional<ProfilePlace> stream, still, control, status;
  std::optional<ProfileLamp> lamp;           // only with control
  std::optional<ProfileSizes> sizes;         // only with control and status
  std::map<std::string, ValueRange> values;  // of keys of control; what is not named has no range
  int rotation = 0;                          // degrees: 0, 90, 180, 270
  std::vector<Readout> readouts;
  FindHints find;

  // The time from the first row to the last of a picture of this height; nothing when no readout is known.
  std::optional<std::chrono::duration<double>> readout_of(int height_px) const;

  // The board's addresses at a host. `user` and `password` are those of `host`. Errors: unsupported when the
  // profile has no such place; invalid_value for a value outside its key's range.
  base::Result<net::Address> stream_at(const net::Address& host) const;
  base::Result<net::Address> still_at(const net::Address& host) const;
  base::Result<net::Address> status_at(const net::Address& host) const;
  base::Result<net::Address> control_at(const net::Address& host, std::string_view key, int value) const;
};

// text: the file's content; name: without .toml; where: for errors ("…/profiles/own.toml"). Errors:
// malformed (no TOML) and invalid_value, with line and key.
base::Result<Profile> parse_profile(std::string_view text, std::string name, const std::string& where);

// The three that are part of the program.
std::vector<std::string> shipped_profiles();
// The TOML text of one of them; empty when there is no such. It is the pattern for own ones.
std::string_view shipped_profile_text(std::string_view name);

// One by its name: <home>/profiles/<name>.toml goes before a shipped one of the same name. Errors: not_found,
// naming all that there are; those of parse_profile.
base::Result<Profile> find_profile(const std::filesystem::path& home, const std::string& name);

// Names of all, own ones first, in order.
std::vector<std::string> list_profiles(const std::filesystem::path& home);

// Those that can be read, own ones first, in order; `bad` hears of each that cannot, and may be empty. With
// an empty `home`: the shipped ones.
std::vector<Profile> read_profiles(const std::filesystem::path& home,
                                   const std::function<void(const base::Error&)>& bad);

}  // namespace rookery::camera
