#include "station/config.h"

#include <fstream>
#include <sstream>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "base/toml_depth.h"

namespace rookery::station {
namespace {

base::Error wrong(const std::string& where, std::string_view key, std::string_view what,
                  std::string_view remedy) {
  return base::Error(base::ErrorCode::invalid_value, where, fmt::format("{} {}", key, what),
                     std::string(remedy));
}

base::Result<void> read_key(const std::string& where, std::string_view key, const toml::node& node,
                            Config& config) {
  if (key == "listen") {
    const auto value = node.value<std::string>();
    if (!value) return wrong(where, key, "is no text", "Write it as listen = \"127.0.0.1:7420\".");
    config.listen = *value;
  } else if (key == "keep_free_gib") {
    const auto value = node.value<double>();
    if (!value || !(*value >= 0 && *value <= 1e6))
      return wrong(where, key, "is not between 0 and 1000000", "Write it as keep_free_gib = 1.0.");
    config.keep_free_gib = *value;
  } else if (key == "exports_gib") {
    const auto value = node.value<double>();
    if (!value || !(*value > 0 && *value <= 1e6))
      return wrong(where, key, "is not above 0 and at most 1000000", "Write it as exports_gib = 4.0.");
    config.exports_gib = *value;
  } else if (key == "films_gib") {
    const auto value = node.value<double>();
    if (!value || !(*value > 0 && *value <= 1e6))
      return wrong(where, key, "is not above 0 and at most 1000000", "Write it as films_gib = 10.0.");
    config.films_gib = *value;
  } else if (key == "jobs_each") {
    const auto value = node.value<int>();
    if (!value || *value < 1 || *value > 1'000'000)
      return wrong(where, key, "is not between 1 and 1000000", "Write it as jobs_each = 2000.");
    config.jobs_each = *value;
  } else if (key == "pre_roll_mib") {
    const auto value = node.value<int>();
    if (!value || *value < 1 || *value > 65'536)
      return wrong(where, key, "is not between 1 and 65536", "Write it as pre_roll_mib = 256.");
    config.pre_roll_mib = *value;
  } else if (key == "segment_minutes") {
    const auto value = node.value<int>();
    if (!value || *value < 1 || *value > 60)
      return wrong(where, key, "is not between 1 and 60", "Write it as segment_minutes = 10.");
    config.segment_minutes = *value;
  } else if (key == "host_names") {
    const toml::array* names = node.as_array();
    if (names == nullptr || (!names->empty() && !names->is_homogeneous<std::string>())) {
      return wrong(where, key, "is no list of texts", "Write it as host_names = [\"rookery.home.arpa\"].");
    }
    for (const toml::node& name : *names) config.host_names.push_back(name.value_or(std::string()));
  } else if (key == "trusted_proxies") {
    const toml::array* proxies = node.as_array();
    if (proxies == nullptr || (!proxies->empty() && !proxies->is_homogeneous<std::string>())) {
      return wrong(where, key, "is no list of addresses", "Write it as trusted_proxies = [\"127.0.0.1\"].");
    }
    for (const toml::node& proxy : *proxies) config.trusted_proxies.push_back(proxy.value_or(std::string()));
  } else {
    return wrong(where, key, "is no setting",
                 "The settings are listen, host_names, trusted_proxies, keep_free_gib, "
                 "exports_gib, films_gib, jobs_each, pre_roll_mib and segment_minutes.");
  }
  return base::ok();
}

}  // namespace

base::Result<Config> parse_config(std::string_view text, const std::string& where) {
  Config config;
  if (const auto line = base::too_deep_line(text)) return base::too_deep_error(where, *line);
  try {
    const toml::table table = toml::parse(text);
    for (const auto& [key, node] : table) {
      const std::string place = fmt::format("{} line {}", where, node.source().begin.line);
      if (auto read = read_key(place, key.str(), node, config); !read) return read.error();
    }
  } catch (const toml::parse_error& error) {
    return base::Error(
        base::ErrorCode::malformed,
        fmt::format("{} line {}, column {}", where, error.source().begin.line, error.source().begin.column),
        std::string(error.description()), "Mend the line; TOML is described at https://toml.io.");
  }
  return config;
}

base::Result<Config> load_config(const std::filesystem::path& home) {
  const std::filesystem::path file = home / "rookery.toml";
  std::error_code failed;
  if (!std::filesystem::exists(file, failed) && !failed) return Config();
  std::ifstream in(file);
  if (!in) return base::Error(base::ErrorCode::no_permission, file.string(), "cannot be read");
  std::stringstream text;
  text << in.rdbuf();
  return parse_config(text.str(), file.string());
}

}  // namespace rookery::station
