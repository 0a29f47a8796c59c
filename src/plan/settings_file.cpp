#include "plan/settings_file.h"

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include <fmt/format.h>
#include <kainjow/mustache.hpp>

#include "base/printable.h"
#include "plan/settings_tags.h"

namespace rookery::plan {
namespace {

namespace mustache = kainjow::mustache;
using base::Error;
using base::ErrorCode;
using Data = mustache::basic_data<std::string>;

// In the template's output a value is first a mark, which no template can hold (a template with these
// characters is refused): what the library escapes becomes the value at once, and a mark that is left was put
// in unescaped.
constexpr char kMarkBegins = '\x01';
constexpr char kMarkEnds = '\x02';

std::string mark_of(const std::string& name) { return kMarkBegins + name + kMarkEnds; }

bool is_control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }

bool may_stand_raw(std::string_view value) {
  return std::all_of(value.begin(), value.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           std::string_view("_.:/+-").find(c) != std::string_view::npos;
  });
}

// A quoted "no" is text, but whoever writes it may mean that something is not there.
bool may_mean_no(const Setting& setting) {
  return !setting.flag && (setting.text == "no" || setting.text == "false");
}

// What the library asked for, and could not be told.
struct Wants {
  std::set<std::string> missing;
  std::set<std::string> partials;
  std::set<std::string> unclear;  // sections about what may_mean_no
  std::set<std::string> empty;    // put in as variables, and nothing
  bool bare_dot = false;
};

// Answers the library's questions, and remembers those it had no answer to: to the library they are empty
// text. Sections are told from variables by the mark before their names (settings_tags.h).
class Asked : public mustache::basic_context<std::string> {
 public:
  explicit Asked(const Settings& values) : values_(values) {
    for (const auto& [name, setting] : values) {
      const bool is_off = setting.text.empty() || setting.flag == false;
      data_.emplace(name, Data(mark_of(name)));
      data_.emplace(kSectionMark + name, is_off ? Data(Data::type::bool_false) : Data(mark_of(name)));
    }
  }

  void push(const Data* data) override { inner_.push_back(data); }
  void pop() override { inner_.pop_back(); }
  const Data* get(const std::string& asked) const override {
    const bool section = asked.starts_with(kSectionMark);
    const std::string name = section ? asked.substr(1) : asked;
    if (name == ".") {
      // The section of what is not there has no value either.
      const bool is_value = !inner_.empty() && !inner_.back()->is_false();
      wants_.bare_dot |= !is_value;
      return is_value ? inner_.back() : nullptr;
    }
    const auto value = values_.find(name);
    if (value == values_.end()) {
      wants_.missing.insert(name);
      return nullptr;
    }
    if (section && may_mean_no(value->second)) wants_.unclear.insert(name);
    if (!section && value->second.text.empty()) wants_.empty.insert(name);
    return &data_.at(asked);
  }
  const Data* get_partial(const std::string& name) const override {
    wants_.partials.insert(name);
    return nullptr;
  }

  const Wants& wants() const& { return wants_; }

 private:
  const Settings& values_;
  std::map<std::string, Data> data_;
  std::vector<const Data*> inner_;
  mutable Wants wants_;
};

Settings values_of(const CameraPlan& camera) {
  Settings out = camera.settings;
  out.insert_or_assign("name", Setting(camera.name.text()));
  if (!camera.page.empty()) out.insert_or_assign("page", Setting(camera.page));
  return out;
}

std::string listed(const std::set<std::string>& names) {
  std::string out;
  for (const std::string& name : names) out += fmt::format("{}{}", out.empty() ? "" : ", ", name);
  return base::printable(out, 200);
}

// What is wrong with what the template asked for; nothing when all could be told.
std::optional<Error> fault_of(const Wants& wants, const CameraPlan& camera, const std::string& where) {
  const auto wrong = [&](std::string detail, std::string remedy) {
    return Error(ErrorCode::invalid_value, where, std::move(detail), std::move(remedy));
  };
  if (!wants.partials.empty()) {
    return Error(ErrorCode::unsupported, where,
                 fmt::format("takes in another file, {{{{> {}}}}}", base::printable(*wants.partials.begin())),
                 "put that file's text into the template");
  }
  if (wants.bare_dot) {
    return wrong("holds {{.}} where no section gives it a value", "write the name of what is meant");
  }
  // Not told: what stands between a source's own braces may be a network's key.
  const auto is_no_name = [](const std::string& name) {
    return name.empty() || name.size() > 40 || !may_stand_raw(name);
  };
  if (std::any_of(wants.missing.begin(), wants.missing.end(), is_no_name)) {
    return wrong("holds a tag {{…}} that is no name",
                 "two braces begin a tag: part them with a space where they belong to the source");
  }
  if (!wants.missing.empty()) {
    return wrong(
        fmt::format("asks for {}, which {} has no value for", listed(wants.missing), camera.name.text()),
        "add it under [camera.settings], or under [every.settings] for all");
  }
  if (!wants.unclear.empty()) {
    return wrong(fmt::format("has a section about {}, which for {} is a text that may mean no",
                             listed(wants.unclear), camera.name.text()),
                 "write true or false without quotes where a section depends on it");
  }
  return std::nullopt;
}

// Marks become values. Errors: those of values that cannot be put in as they stand.
base::Result<std::string> unmarked(const std::string& text, const Settings& values,
                                   const std::string& where) {
  std::string out;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t begin = text.find(kMarkBegins, at);
    out += text.substr(at, begin - at);
    if (begin == std::string::npos) break;
    const std::size_t end = text.find(kMarkEnds, begin);
    const std::string name = text.substr(begin + 1, end - begin - 1);
    const std::string& value = values.at(name).text;
    if (!may_stand_raw(value)) {
      return Error(
          ErrorCode::invalid_value, where,
          fmt::format("{} holds characters that cannot be put in as they stand", base::printable(name)),
          fmt::format("write {{{{{0}}}}} inside quotes instead of {{{{{{{0}}}}}}}", base::printable(name)));
    }
    out += value;
    at = end + 1;
  }
  return out;
}

}  // namespace

std::string c_escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '"' || c == '\\' || c == '?' || c == '\'') {
      out += '\\';
      out += c;
    } else if (is_control(c) || static_cast<unsigned char>(c) >= 0x80) {
      out += fmt::format("\\{:03o}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    } else {
      out += c;
    }
  }
  return out;
}

base::Result<std::string> fill_settings(std::string_view text, const CameraPlan& camera,
                                        const std::string& where, std::vector<std::string>* empty) {
  const Settings values = values_of(camera);
  for (const char mark : {kMarkBegins, kMarkEnds, kSectionMark}) {
    if (text.find(mark) != std::string_view::npos)
      return Error(ErrorCode::malformed, where, "holds control characters", "is it a text file?");
  }
  for (const auto& [name, value] : values) {
    if (std::any_of(value.text.begin(), value.text.end(), is_control)) {
      return Error(ErrorCode::invalid_value, fmt::format("{}: {}", camera.name.text(), base::printable(name)),
                   "holds a line break or another control character", "take it out");
    }
  }
  const auto marked = mark_sections(text, where);
  if (!marked) return marked.error();
  mustache::mustache filled{*marked};
  // Whatever the scan above did not see.
  if (!filled.is_valid()) {
    return Error(ErrorCode::malformed, where, base::printable(filled.error_message(), 100),
                 "mend the tags: {{name}}, {{#lamp}}…{{/lamp}}");
  }
  filled.set_custom_escape([&values](const std::string& value) {
    if (!value.starts_with(kMarkBegins)) return c_escaped(value);
    return c_escaped(values.at(value.substr(1, value.size() - 2)).text);
  });
  Asked asked(values);
  const std::string rendered = filled.render(asked);
  if (auto fault = fault_of(asked.wants(), camera, where)) return *fault;
  if (empty != nullptr) {
    for (const std::string& name : asked.wants().empty) empty->push_back(base::printable(name));
  }
  return unmarked(rendered, values, where);
}

}  // namespace rookery::plan
