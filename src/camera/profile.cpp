#include "camera/profile.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "base/file.h"

namespace rookery::camera {

extern const unsigned char kTwoPortsBytes[];
extern const std::size_t kTwoPortsSize;
extern const unsigned char kOnePortBytes[];
extern const std::size_t kOnePortSize;
extern const unsigned char kStillsOnlyBytes[];
extern const std::size_t kStillsOnlySize;

namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

constexpr std::size_t kMostFile_bytes = 64 << 10;

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
  if (!place.path.starts_with('/') || place.path.find_first_of(" \t\r\n#") != std::string::npos) {
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
  profile.lamp = read_lamp(file);
  read_values(file, profile);
  if (auto picture = file.table("picture")) {
    profile.rotation = picture->whole("rotation", 0, 270).value_or(0);
    if (profile.rotation % 90 != 0)
      picture->fail(picture->take("rotation"), "rotation", "is none of 0, 90, 180, 270",
                    "Correct the value.");
    picture->no_others();
  }
  read_readouts(file, reading, profile);
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

bool is_profile_name(std::string_view name) {
  return !name.empty() && name.size() <= 63 && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  });
}

std::filesystem::path own_file(const std::filesystem::path& home, const std::string& name) {
  return home / "profiles" / (name + ".toml");
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

std::vector<std::string> shipped_profiles() { return {"two-ports", "one-port", "stills-only"}; }

std::string_view shipped_profile_text(std::string_view name) {
  const auto text = [](const unsigned char* bytes, std::size_t size) {
    return std::string_view(reinterpret_cast<const char*>(bytes), size);
  };
  if (name == "two-ports") return text(kTwoPortsBytes, kTwoPortsSize);
  if (name == "one-port") return text(kOnePortBytes, kOnePortSize);
  if (name == "stills-only") return text(kStillsOnlyBytes, kStillsOnlySize);
  return {};
}

Result<Profile> find_profile(const std::filesystem::path& home, const std::string& name) {
  std::error_code failed;
  const std::filesystem::path file = own_file(home, name);
  if (is_profile_name(name) && std::filesystem::exists(file, failed)) {
    auto text = base::read_file(file, kMostFile_bytes);
    if (!text) return text.error();
    return parse_profile(*text, name, file.string());
  }
  const std::string_view shipped = shipped_profile_text(name);
  if (!shipped.empty()) return parse_profile(shipped, name, name + ".toml");
  return Error(ErrorCode::not_found, "profile", fmt::format("there is none called \"{}\"", name),
               fmt::format("There are {}; own ones are files {}/NAME.toml.",
                           fmt::join(list_profiles(home), ", "), (home / "profiles").string()));
}

std::vector<std::string> list_profiles(const std::filesystem::path& home) {
  std::vector<std::string> names;
  std::error_code failed;
  for (const auto& entry : std::filesystem::directory_iterator(home / "profiles", failed)) {
    const std::string name = entry.path().stem().string();
    if (entry.path().extension() == ".toml" && is_profile_name(name)) names.push_back(name);
  }
  std::sort(names.begin(), names.end());
  for (std::string& name : shipped_profiles()) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(std::move(name));
  }
  return names;
}

}  // namespace rookery::camera
