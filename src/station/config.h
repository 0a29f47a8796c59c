// <home>/rookery.toml: settings of the station itself (cameras and people are in the catalog).
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "base/result.h"

namespace rookery::station {

struct Config {
  std::string listen = "127.0.0.1:7420";  // ADDRESS:PORT; an IPv6 address in brackets
  std::vector<std::string> host_names;  // names under which browsers may call the station, beside its address
  std::vector<std::string> trusted_proxies;  // addresses of proxies whose X-Forwarded-… fields are believed
  double keep_free_gib = 1.0;                // of the disk, by retention
  double exports_gib = 4.0;                  // of all exports together
  std::optional<double> films_gib{};         // of all films of jobs together; none: a tenth of the disk
  int jobs_each = 2'000;                     // jobs that are over, of one camera
  int pre_roll_mib = 256;                    // in memory, of all cameras that record around events together
  int segment_minutes = 10;                  // 1 to 60
};

// Reads it; a missing file gives the defaults. Errors: malformed (with line and column), invalid_value (which
// key, which value, what is allowed; unknown keys too, so that a slip of the pen does not pass silently).
base::Result<Config> load_config(const std::filesystem::path& home);
// The same from text; `where` names it in errors.
base::Result<Config> parse_config(std::string_view text, const std::string& where);

}  // namespace rookery::station
