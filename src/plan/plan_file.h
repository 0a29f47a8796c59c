// A plan file: the cameras that a person means to build, each with the values of its sums and of its settings
// file.
//
//   station = "http://192.0.2.10:7420"      # where the page will be, for the label's code
//   [every.supply]                          # what all cameras share; a camera's own value goes before it
//   source = "24 V"
//   [[camera]]
//   name = "anvil"
//   [camera.wire]                           # a table a subject: the values of `rookery plan wire`
//   length = "1.5 m"
//   [camera.settings]                       # what the settings template is filled with
//   network = "hall"
//   key = "…"
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/name.h"
#include "base/result.h"
#include "plan/field.h"

namespace rookery::plan {

// What a settings template is filled with.
struct Setting {
  // As written: a number with its own digits ("007" is in quotes, 0x10 stays that), true and false by their
  // word. May be a network's key: never shown, never logged.
  std::string text;
  std::optional<bool> flag = std::nullopt;  // there when it is true or false without quotes

  Setting(std::string text_, std::optional<bool> flag_ = std::nullopt)  // NOLINT(google-explicit-constructor)
      : text(std::move(text_)), flag(flag_) {}
  Setting(const char* text_) : text(text_) {}  // NOLINT(google-explicit-constructor)
};

using Settings = std::map<std::string, Setting, std::less<>>;

// What [every] and each [[camera]] may hold.
struct PlanSection {
  // By the subject's key: its values as written.
  std::map<std::string, std::vector<Given>, std::less<>> sums;
  Settings settings;
};

// One camera of a plan, with what all share.
struct CameraPlan : PlanSection {
  base::CameraName name;
  std::string page;  // the address of its page; empty when the file names no station

  CameraPlan(PlanSection every, base::CameraName name_, std::string page_)
      : PlanSection(std::move(every)), name(std::move(name_)), page(std::move(page_)) {}
};

struct PlanFile {
  std::vector<CameraPlan> cameras;  // at least one, no name twice

  // Errors: not_found, naming those there are.
  base::Result<const CameraPlan*> find(std::string_view name) const&;
};

// Reads TOML text; `where` is the file's name, for errors. A sum's values may be strings ("5.2 V"), numbers
// (in the field's usual unit) or true and false (yes, no); settings are taken as they are written. The
// subjects' values are checked for their names here, and for what they say when a sum is made. Errors, each
// with its line and column: malformed (no TOML), invalid_value (a key that is not known, a camera without
// name, a name twice, a table where a value belongs, a station's address without a host, a board's address
// that no label holds); malformed also where it nests too deep (base/toml_depth.h). All go into `all`, when
// it is there.
base::Result<PlanFile> read_plan_file(std::string_view text, const std::string& where,
                                      std::vector<base::Error>* all = nullptr);

}  // namespace rookery::plan
