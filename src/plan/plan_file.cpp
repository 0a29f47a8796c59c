#include "plan/plan_file.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "base/printable.h"
#include "base/toml_depth.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

// Reads on after a mistake, so that all of them are told at once.
class Reader {
 public:
  Reader(std::string_view text, const std::string& where) : text_(text), where_(where) {}

  void fail(const toml::node& node, std::string detail, std::string remedy) {
    const toml::source_position& at = node.source().begin;
    errors.emplace_back(ErrorCode::invalid_value,
                        fmt::format("{} line {}, column {}", where_, at.line, at.column), std::move(detail),
                        std::move(remedy));
  }

  // A value as a person would type it; nothing when it is none.
  std::optional<std::string> text_of(const toml::node& node, std::string_view key) {
    if (const auto text = node.value_exact<std::string>()) return text;
    if (const auto whole = node.value_exact<std::int64_t>()) return fmt::format("{}", *whole);
    if (const auto number = node.value_exact<double>()) return fmt::format("{}", *number);
    if (const auto flag = node.value_exact<bool>()) return *flag ? "yes" : "no";
    no_value(node, key);
    return std::nullopt;
  }

  // The same for a settings file, whose language may read 0x10, 1e3 or 1.50 otherwise than as a value.
  std::optional<Setting> setting_of(const toml::node& node, std::string_view key) {
    if (auto text = node.value_exact<std::string>()) return Setting(std::move(*text));
    if (const auto flag = node.value_exact<bool>()) return Setting(*flag ? "true" : "false", flag);
    if (node.is_number()) {
      if (std::string written = source_of(node); !written.empty()) return Setting(std::move(written));
    }
    no_value(node, key);
    return std::nullopt;
  }

  // A table of the file, which a section must be; null (and a mistake told) when it is something else.
  const toml::table* table_of(const toml::node& node, std::string_view key) {
    if (node.is_table()) return node.as_table();
    const std::string shown = base::printable(key);
    fail(node, fmt::format("{} is no table", shown), fmt::format("write [{}] above its keys", shown));
    return nullptr;
  }

  std::vector<Error> errors;

 private:
  void no_value(const toml::node& node, std::string_view key) {
    const std::string shown = base::printable(key);
    fail(node, fmt::format("{} is no text, number, true or false", shown),
         fmt::format("write it in quotes: {} = \"…\"", shown));
  }

  // The node's own piece of the text; only for what stands on one line and is ASCII, as a number is.
  std::string source_of(const toml::node& node) const {
    const toml::source_position& begin = node.source().begin;
    std::size_t at = 0;
    for (toml::source_index line = 1; line < begin.line; ++line) at = text_.find('\n', at) + 1;
    // Columns count characters.
    for (toml::source_index column = 1; column < begin.column; ++column) {
      ++at;
      while (at < text_.size() && (static_cast<unsigned char>(text_[at]) & 0xc0U) == 0x80U) ++at;
    }
    constexpr std::string_view kOfNumbers = "0123456789abcdefABCDEFoxinfa+-._";
    return std::string(text_.substr(at, text_.find_first_not_of(kOfNumbers, at) - at));
  }

  std::string_view text_;
  const std::string& where_;
};

std::string list_of_subjects() {
  std::string out;
  for (const Subject& subject : subjects()) out += fmt::format("{}, ", subject.key);
  return out + "settings";
}

void read_sum(Reader& reader, const Subject& subject, const toml::table& table, std::vector<Given>& sum) {
  for (const auto& [key, node] : table) {
    const std::string_view name = key.str();
    const auto is_it = [&](const Field& field) { return field.key == name; };
    if (!std::any_of(subject.fields.begin(), subject.fields.end(), is_it)) {
      std::string known;
      for (const Field& field : subject.fields)
        known += fmt::format("{}{}", known.empty() ? "" : ", ", field.key);
      reader.fail(node, fmt::format("{} has no value {}", subject.key, base::printable(name)),
                  "it knows: " + known);
      continue;
    }
    auto text = reader.text_of(node, name);
    if (!text) continue;
    std::erase_if(sum, [&](const Given& one) { return one.key == name; });
    sum.push_back({std::string(name), std::move(*text)});
  }
}

// The build sheet's label shows a board's address; a name of the network's own has at most 253 characters,
// but none that people type has a third of it.
constexpr std::size_t kLongestAddress = 80;

bool fits_label(const std::string& address) {
  return base::is_printable(address) && base::printable(address, kLongestAddress) == address;
}

// What [every] and a [[camera]] have in common: a table a subject, and settings.
void read_section(Reader& reader, std::string_view key, const toml::node& node, PlanSection& section) {
  if (key == "settings") {
    const toml::table* table = reader.table_of(node, key);
    if (table == nullptr) return;
    for (const auto& [name, value] : *table) {
      auto setting = reader.setting_of(value, name.str());
      if (!setting) continue;
      if (name.str() == "address" && !fits_label(setting->text)) {
        reader.fail(value,
                    fmt::format("address is longer than the {} characters that a label holds, or holds "
                                "one that cannot be printed",
                                kLongestAddress),
                    "write the board's address alone, such as 192.0.2.17");
        continue;
      }
      section.settings.insert_or_assign(std::string(name.str()), std::move(*setting));
    }
    return;
  }
  const Subject* subject = find_subject(key);
  if (subject == nullptr) {
    reader.fail(node, fmt::format("there is no \"{}\" here", base::printable(key)),
                "known here: " + list_of_subjects());
    return;
  }
  if (const toml::table* table = reader.table_of(node, key)) {
    read_sum(reader, *subject, *table, section.sums[std::string(key)]);
  }
}

std::optional<CameraPlan> read_camera(Reader& reader, const toml::table& table, const PlanSection& every,
                                      std::string_view station) {
  const toml::node* name = table.get("name");
  if (name == nullptr || !name->is_string()) {
    reader.fail(table, "a camera has no name", "add name = \"…\" right below [[camera]]");
    return std::nullopt;
  }
  auto parsed = base::CameraName::parse(name->value_or(std::string()));
  if (!parsed) {
    reader.fail(*name, parsed.error().detail, parsed.error().remedy);
    return std::nullopt;
  }
  std::string page = station.empty() ? std::string() : fmt::format("{}/#/camera/{}", station, parsed->text());
  CameraPlan camera(every, std::move(*parsed), std::move(page));
  for (const auto& [key, node] : table) {
    if (key.str() != "name") read_section(reader, key.str(), node, camera);
  }
  return camera;
}

// "192.0.2.10:7420", "hall.local", "[2001:db8::7]:7420": a host, and a port where one is given.
bool is_authority(std::string_view text) {
  std::string_view port;
  if (text.starts_with('[')) {
    const std::size_t end = text.find(']');
    if (end == std::string_view::npos || end < 3) return false;
    if (text.substr(1, end - 1).find_first_not_of("0123456789abcdefABCDEF:.") != std::string_view::npos)
      return false;
    port = text.substr(end + 1);
  } else {
    const std::size_t colon = std::min(text.find(':'), text.size());
    if (colon == 0 || text.front() == '.' || text.front() == '-') return false;
    port = text.substr(colon);
  }
  if (port.empty()) return true;
  return port.front() == ':' && port.size() >= 2 && port.size() <= 6 && port[1] != '0' &&
         port.find_first_not_of("0123456789", 1) == std::string_view::npos &&
         std::stoi(std::string(port.substr(1))) <= 65535;
}

bool is_page_address(std::string_view address) {
  constexpr std::size_t kLongest = 200;  // a code of such length is still read from a label of 26 mm
  const std::size_t scheme = address.starts_with("http://") ? 7 : address.starts_with("https://") ? 8 : 0;
  if (scheme == 0 || address.size() > kLongest || !base::is_printable(address)) return false;
  if (address.find_first_of(" @?#\"<>\\^`{|}") != std::string_view::npos) return false;
  const std::string_view rest = address.substr(scheme);
  return is_authority(rest.substr(0, rest.find('/')));
}

// The station's address without a slash at its end.
std::string read_station(Reader& reader, const toml::table& file) {
  const toml::node* node = file.get("station");
  if (node == nullptr) return {};
  std::string address = node->value_or(std::string());
  if (!is_page_address(address)) {
    reader.fail(*node, "station is no plain address of a page",
                "write it like station = \"http://192.0.2.10:7420\"");
    return {};
  }
  while (address.ends_with('/')) address.pop_back();
  return address;
}

PlanSection read_every(Reader& reader, const toml::table& file) {
  PlanSection every;
  const toml::node* node = file.get("every");
  if (node == nullptr) return every;
  const toml::table* table = reader.table_of(*node, "every");
  if (table == nullptr) return every;
  for (const auto& [key, value] : *table) read_section(reader, key.str(), value, every);
  return every;
}

void read_cameras(Reader& reader, const toml::table& file, PlanFile& plan) {
  const std::string station = read_station(reader, file);
  const PlanSection every = read_every(reader, file);
  for (const auto& [key, node] : file) {
    if (key.str() != "station" && key.str() != "every" && key.str() != "camera") {
      reader.fail(node, fmt::format("there is no \"{}\" here", base::printable(key.str())),
                  "known here: station, every, [[camera]]");
    }
  }
  const toml::node* cameras = file.get("camera");
  const toml::array* list = cameras == nullptr ? nullptr : cameras->as_array();
  if (list == nullptr || list->empty() || !list->is_homogeneous<toml::table>()) {
    reader.fail(cameras == nullptr ? static_cast<const toml::node&>(file) : *cameras,
                "there is no camera in it", "begin each camera with [[camera]] and name = \"…\"");
    return;
  }
  std::set<std::string> names;
  for (const toml::node& node : *list) {
    auto camera = read_camera(reader, *node.as_table(), every, station);
    if (!camera) continue;
    if (!names.insert(camera->name.text()).second) {
      reader.fail(node, fmt::format("the name {} stands there twice", camera->name.text()),
                  "give each its own name");
      continue;
    }
    plan.cameras.push_back(std::move(*camera));
  }
}

}  // namespace

base::Result<const CameraPlan*> PlanFile::find(std::string_view name) const& {
  std::string known;
  for (const CameraPlan& camera : cameras) {
    if (camera.name.text() == name) return &camera;
    known += fmt::format("{}{}", known.empty() ? "" : ", ", camera.name.text());
  }
  return Error(ErrorCode::not_found, "plan",
               fmt::format("there is no camera \"{}\" in it", base::printable(name)), "it holds: " + known);
}

base::Result<PlanFile> read_plan_file(std::string_view text, const std::string& where,
                                      std::vector<Error>* all) {
  std::vector<Error> errors;
  PlanFile plan;
  if (const auto line = base::too_deep_line(text)) {
    const Error error = base::too_deep_error(where, *line);
    if (all != nullptr) *all = {error};
    return error;
  }
  try {
    const toml::table file = toml::parse(text, where);
    Reader reader(text, where);
    read_cameras(reader, file, plan);
    errors = std::move(reader.errors);
  } catch (const toml::parse_error& wrong) {
    const toml::source_position& at = wrong.source().begin;
    // Not the parser's own words: they quote what it read, which may be a network's key.
    errors.emplace_back(ErrorCode::malformed, fmt::format("{} line {}, column {}", where, at.line, at.column),
                        "this is no TOML",
                        "correct the line; text stands in quotes, and so does a key of digits");
  }
  if (all != nullptr) *all = errors;
  if (!errors.empty()) return errors.front();
  return plan;
}

}  // namespace rookery::plan
