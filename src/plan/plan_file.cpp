#include "plan/plan_file.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

// Reads on after a mistake, so that all of them are told at once.
class Reader {
 public:
  explicit Reader(const std::string& where) : where_(where) {}

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
    fail(node, fmt::format("{} is no text, number, true or false", key),
         fmt::format("write it like {} = \"…\"", key));
    return std::nullopt;
  }

  // A table of the file, which a section must be; null (and a mistake told) when it is something else.
  const toml::table* table_of(const toml::node& node, std::string_view key) {
    if (node.is_table()) return node.as_table();
    fail(node, fmt::format("{} is no table", key), fmt::format("write [{}] above its keys", key));
    return nullptr;
  }

  std::vector<Error> errors;

 private:
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
      reader.fail(node, fmt::format("{} has no value {}", subject.key, name), "it knows: " + known);
      continue;
    }
    auto text = reader.text_of(node, name);
    if (!text) continue;
    std::erase_if(sum, [&](const Given& one) { return one.key == name; });
    sum.push_back({std::string(name), std::move(*text)});
  }
}

// What [every] and a [[camera]] have in common: a table a subject, and settings.
void read_section(Reader& reader, std::string_view key, const toml::node& node, PlanSection& section) {
  if (key == "settings") {
    const toml::table* table = reader.table_of(node, key);
    if (table == nullptr) return;
    for (const auto& [name, value] : *table) {
      if (auto text = reader.text_of(value, name.str())) {
        section.settings.insert_or_assign(std::string(name.str()), std::move(*text));
      }
    }
    return;
  }
  const Subject* subject = find_subject(key);
  if (subject == nullptr) {
    reader.fail(node, fmt::format("there is no \"{}\" here", key), "known here: " + list_of_subjects());
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

// The station's address without a slash at its end.
std::string read_station(Reader& reader, const toml::table& file) {
  const toml::node* node = file.get("station");
  if (node == nullptr) return {};
  std::string address = node->value_or(std::string());
  const bool is_address = address.starts_with("http://") || address.starts_with("https://");
  if (!is_address || address.find_first_of(" \t\r\n@?#\"<>") != std::string::npos || address.size() > 200) {
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
      reader.fail(node, fmt::format("there is no \"{}\" here", key.str()),
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
               fmt::format("there is no camera \"{}\" in it", name.substr(0, 60)), "it holds: " + known);
}

base::Result<PlanFile> read_plan_file(std::string_view text, const std::string& where,
                                      std::vector<Error>* all) {
  std::vector<Error> errors;
  PlanFile plan;
  try {
    const toml::table file = toml::parse(text, where);
    Reader reader(where);
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
