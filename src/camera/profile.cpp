#include "camera/profile.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "base/toml_depth.h"

namespace rookery::camera {

namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

// What goes wrong is noted, the first of it kept, and reading goes on: so each reader is one line a key.
struct Reading {
  const std::string& where;
  std::optional<Error> first_error;
};

// One table of the file, which knows where it stands and which of its keys nobody asked for.
class Table {
 public:
  // Both outlive this.
  Table(const toml::table& table, std::string name, Reading& reading)
      : table_(table), name_(std::move(name)), reading_(reading) {}

  void fail(const toml::node* node, std::string_view key, std::string_view what,
            std::string_view remedy) const {
    const toml::source_region& at = node != nullptr ? node->source() : table_.source();
    if (reading_.first_error) return;
    reading_.first_error =
        Error(ErrorCode::invalid_value, fmt::format("{} line {}", reading_.where, at.begin.line),
              fmt::format("{} {}", full(key), what), std::string(remedy));
  }

  const toml::node* take(std::string_view key) {
    asked_.emplace_back(key);
    return table_.get(key);
  }
  std::optional<std::string> text(std::string_view key) {
    const toml::node* node = take(key);
    if (node == nullptr) return std::nullopt;
    if (!node->is_string()) fail(node, key, "is no text", fmt::format("Write it as {} = \"…\".", key));
    return node->value<std::string>();
  }
  std::optional<int> whole(std::string_view key, int least, int most) {
    const toml::node* node = take(key);
    if (node == nullptr) return std::nullopt;
    const auto value = node->is_integer() ? node->value<std::int64_t>() : std::nullopt;
    if (value && *value >= least && *value <= most) return static_cast<int>(*value);
    fail(node, key, fmt::format("is no whole number from {} to {}", least, most), "Correct the value.");
    return std::nullopt;
  }
  std::optional<double> number(std::string_view key, double least, double most) {
    const toml::node* node = take(key);
    if (node == nullptr) return std::nullopt;
    const auto value = node->is_number() ? node->value<double>() : std::nullopt;
    if (!value || !(*value >= least && *value <= most))
      fail(node, key, fmt::format("is no number from {} to {}", least, most), "Correct the value.");
    return value;
  }
  std::optional<bool> flag(std::string_view key) {
    const toml::node* node = take(key);
    if (node == nullptr) return std::nullopt;
    if (!node->is_boolean()) fail(node, key, "is neither true nor false", "Write one of the two.");
    return node->value<bool>();
  }
  // Each element of a list, which may be missing; `what` it is a list of.
  void each(std::string_view key, std::string_view what,
            const std::function<bool(const toml::node&)>& take_one) {
    const toml::node* node = take(key);
    if (node == nullptr) return;
    const toml::array* all = node->as_array();
    if (all == nullptr || !std::all_of(all->begin(), all->end(), take_one))
      fail(node, key, fmt::format("is no list of {}", what), "Correct the value.");
  }
  std::vector<std::string> paths(std::string_view key) {
    std::vector<std::string> out;
    each(key, "paths that begin with / and hold no spaces and no #", [&out](const toml::node& one) {
      out.push_back(one.value<std::string>().value_or(std::string()));
      return is_path(out.back());
    });
    return out;
  }
  std::vector<std::uint16_t> ports(std::string_view key) {
    std::vector<std::uint16_t> out;
    each(key, "ports from 1 to 65535", [&out](const toml::node& one) {
      const std::int64_t port = one.is_integer() ? one.value_or(std::int64_t{0}) : 0;
      out.push_back(static_cast<std::uint16_t>(port));
      return port >= 1 && port <= 65535;
    });
    return out;
  }
  static bool is_path(std::string_view text) {
    return text.starts_with('/') && text.find_first_of(" \t\r\n#") == std::string_view::npos;
  }
  std::optional<Table> table(std::string_view key) {
    const toml::node* node = take(key);
    if (node == nullptr) return std::nullopt;
    if (node->is_table()) return Table(*node->as_table(), full(key), reading_);
    fail(node, key, "is no table", fmt::format("Write [{}] above its keys.", full(key)));
    return std::nullopt;
  }
  template <class T>
  T needed(std::optional<T> value, std::string_view key) const {
    if (value) return *std::move(value);
    fail(nullptr, key, "is missing", "Add it; `rookery prove --show-profile two-ports` is a pattern.");
    return T{};
  }
  // A key that was not asked for is one that is not known: a slip of the pen must not pass in silence.
  void no_others() const {
    for (const auto& [key, node] : table_) {
      if (std::find(asked_.begin(), asked_.end(), key.str()) == asked_.end()) {
        fail(&node, key.str(), "is no setting here", fmt::format("Known here: {}.", fmt::join(asked_, ", ")));
      }
    }
  }
  const toml::table& raw() const { return table_; }

 private:
  std::string full(std::string_view key) const {
    return name_.empty() ? std::string(key) : fmt::format("{}.{}", name_, key);
  }

  const toml::table& table_;
  std::string name_;
  Reading& reading_;
  std::vector<std::string> asked_;
};

std::optional<ProfilePlace> read_place(Table& file, std::string_view key, bool is_stream) {
  auto table = file.table(key);
  if (!table) return std::nullopt;
  ProfilePlace place;
  place.port = static_cast<std::uint16_t>(table->whole("port", 1, 65535).value_or(80));
  place.path = table->needed(table->text("path"), "path");
  if (!Table::is_path(place.path)) {
    table->fail(table->take("path"), "path", fmt::format("\"{}\" is no path", place.path),
                "Begin it with / and leave out spaces and #.");
  }
  if (!is_stream) place.while_streaming = table->flag("while_streaming").value_or(true);
  table->no_others();
  return place;
}

std::optional<ProfileLamp> read_lamp(Table& file) {
  auto table = file.table("lamp");
  if (!table) return std::nullopt;
  ProfileLamp lamp;
  lamp.key = table->needed(table->text("key"), "key");
  lamp.on = table->whole("on", -1'000'000, 1'000'000).value_or(lamp.on);
  lamp.off = table->whole("off", -1'000'000, 1'000'000).value_or(lamp.off);
  table->no_others();
  return lamp;
}

std::optional<ProfileSizes> read_sizes(Table& file) {
  auto table = file.table("sizes");
  if (!table) return std::nullopt;
  ProfileSizes sizes;
  sizes.key = table->needed(table->text("key"), "key");
  table->each("steps", "one to three whole numbers", [&sizes](const toml::node& one) {
    sizes.steps.push_back(static_cast<int>(one.value_or(std::int64_t{-1})));
    return one.is_integer() && sizes.steps.back() >= 0 && sizes.steps.size() <= 3;
  });
  if (sizes.steps.empty()) table->needed(std::optional<int>(), "steps");
  table->no_others();
  return sizes;
}

void read_values(Table& file, Profile& profile) {
  auto table = file.table("values");
  if (!table) return;
  for (const auto& [key, node] : table->raw()) {
    auto range = table->table(key.str());
    if (!range) return;
    ValueRange value;
    value.least = range->needed(range->whole("least", -1'000'000, 1'000'000), "least");
    value.most = range->needed(range->whole("most", -1'000'000, 1'000'000), "most");
    if (value.most < value.least) range->fail(&node, "most", "is below least", "Swap the two.");
    range->no_others();
    profile.values.emplace(key.str(), value);
  }
}

void read_readouts(Table& file, Reading& reading, Profile& profile) {
  const toml::node* node = file.take("readout");
  if (node == nullptr) return;
  const toml::array* rows = node->as_array();
  if (rows == nullptr || !rows->is_array_of_tables())
    return file.fail(node, "readout", "is no list of tables", "Write [[readout]] above each.");
  for (const toml::node& row : *rows) {
    Table table(*row.as_table(), "readout", reading);
    Readout readout;
    readout.height_px = table.needed(table.whole("height_px", 16, 8192), "height_px");
    readout.row_time_us = table.needed(table.number("row_time_us", 0.1, 10'000), "row_time_us");
    table.no_others();
    profile.readouts.push_back(readout);
  }
}

Profile read_profile(const toml::table& root, std::string name, Reading& reading) {
  Table file(root, "", reading);
  Profile profile;
  profile.title = file.text("title").value_or(name);
  profile.name = std::move(name);
  profile.stream = read_place(file, "stream", true);
  profile.still = read_place(file, "still", false);
  profile.control = read_place(file, "control", false);
  profile.status = read_place(file, "status", false);
  profile.lamp = read_lamp(file);
  profile.sizes = read_sizes(file);
  read_values(file, profile);
  if (auto picture = file.table("picture")) {
    profile.rotation = picture->whole("rotation", 0, 270).value_or(0);
    if (profile.rotation % 90 != 0)
      picture->fail(picture->take("rotation"), "rotation", "is none of 0, 90, 180, 270",
                    "Correct the value.");
    picture->no_others();
  }
  read_readouts(file, reading, profile);
  if (auto find = file.table("find")) {
    profile.find.still_paths = find->paths("still_paths");
    profile.find.stream_paths = find->paths("stream_paths");
    profile.find.ports = find->ports("ports");
    find->no_others();
  }
  file.no_others();
  if (!profile.stream && !profile.still)
    file.fail(nullptr, "stream", "and still are both missing", "Say at least one of them.");
  if (profile.control && (profile.control->path.find("{key}") == std::string::npos ||
                          profile.control->path.find("{value}") == std::string::npos)) {
    file.fail(root.get("control"), "control", "has a path without {key} or {value}",
              "Write both where the board wants them: \"/control?key={key}&value={value}\".");
  }
  if (profile.lamp && !profile.control)
    file.fail(root.get("lamp"), "lamp", "needs [control], by which it is switched", "Add that table.");
  if (profile.sizes && !(profile.control && profile.status)) {
    file.fail(root.get("sizes"), "sizes",
              "needs [control], by which a size is set, and [status], which tells it before",
              "Add those tables.");
  }
  if (profile.lamp) {
    const auto range = profile.values.find(profile.lamp->key);
    for (const int value : {profile.lamp->on, profile.lamp->off}) {
      if (range != profile.values.end() && (value < range->second.least || value > range->second.most)) {
        file.fail(root.get("lamp"), "lamp",
                  fmt::format("has {}, outside {} to {} of [values.{}]", value, range->second.least,
                              range->second.most, profile.lamp->key),
                  "Correct one of the two.");
      }
    }
  }
  return profile;
}

std::string filled(std::string text, std::string_view place, std::string_view value) {
  for (auto at = text.find(place); at != std::string::npos; at = text.find(place, at + value.size()))
    text.replace(at, place.size(), value);
  return text;
}

Result<net::Address> at_place(const Profile& profile, const std::optional<ProfilePlace>& place,
                              std::string_view what, const net::Address& host) {
  if (!place) {
    return Error(ErrorCode::unsupported, "profile " + profile.name, fmt::format("it has no {}", what),
                 "Choose another with --profile, or add it to one of your own.");
  }
  net::Address address = host;
  address.port = place->port;
  address.target = place->path;
  return address;
}

}  // namespace

std::optional<std::chrono::duration<double>> Profile::readout_of(int height_px) const {
  for (const Readout& readout : readouts) {
    if (readout.height_px == height_px)
      return std::chrono::duration<double>(readout.row_time_us * 1e-6 * height_px);
  }
  return std::nullopt;
}

Result<net::Address> Profile::stream_at(const net::Address& host) const {
  return at_place(*this, stream, "stream", host);
}

Result<net::Address> Profile::still_at(const net::Address& host) const {
  return at_place(*this, still, "still", host);
}

Result<net::Address> Profile::status_at(const net::Address& host) const {
  return at_place(*this, status, "status", host);
}

Result<net::Address> Profile::control_at(const net::Address& host, std::string_view key, int value) const {
  auto address = at_place(*this, control, "control", host);
  if (!address) return address;
  const auto range = values.find(std::string(key));
  if (range != values.end() && (value < range->second.least || value > range->second.most)) {
    return Error(
        ErrorCode::invalid_value, "profile " + name,
        fmt::format("{} = {} is outside {} to {}", key, value, range->second.least, range->second.most),
        "Choose a value within the range.");
  }
  address->target = filled(filled(address->target, "{key}", key), "{value}", std::to_string(value));
  return address;
}

Result<Profile> parse_profile(std::string_view text, std::string name, const std::string& where) {
  if (const auto line = base::too_deep_line(text)) return base::too_deep_error(where, *line);
  try {
    const toml::table root = toml::parse(text);
    Reading reading{where, std::nullopt};
    Profile profile = read_profile(root, std::move(name), reading);
    if (reading.first_error) return *std::move(reading.first_error);
    return profile;
  } catch (const toml::parse_error& error) {
    return Error(
        ErrorCode::malformed,
        fmt::format("{} line {}, column {}", where, error.source().begin.line, error.source().begin.column),
        std::string(error.description()), "Mend the line; TOML is described at https://toml.io.");
  }
}

}  // namespace rookery::camera
