#include "plan/settings_file.h"

#include <algorithm>
#include <optional>
#include <set>

#include <fmt/format.h>
#include <kainjow/mustache.hpp>

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

// Answers the library's questions, and remembers those it had no answer to: to the library they are empty
// text.
class Asked : public mustache::basic_context<std::string> {
 public:
  explicit Asked(const std::map<std::string, std::string>& values) {
    for (const auto& [name, value] : values) {
      data_.emplace(name,
                    value.empty() || value == "no" ? Data(Data::type::bool_false) : Data(mark_of(name)));
    }
  }

  void push(const Data* data) override { inner_.push_back(data); }
  void pop() override { inner_.pop_back(); }
  const Data* get(const std::string& name) const override {
    if (name == ".") return inner_.empty() ? nullptr : inner_.back();
    const auto at = data_.find(name);
    if (at == data_.end()) {
      missing_.insert(name);
      return nullptr;
    }
    return &at->second;
  }
  const Data* get_partial(const std::string& name) const override {
    partials_.insert(name);
    return nullptr;
  }

  const std::set<std::string>& missing() const { return missing_; }
  const std::set<std::string>& partials() const { return partials_; }

 private:
  std::map<std::string, Data> data_;
  std::vector<const Data*> inner_;
  mutable std::set<std::string> missing_;
  mutable std::set<std::string> partials_;
};

std::map<std::string, std::string> values_of(const CameraPlan& camera) {
  std::map<std::string, std::string> out(camera.settings.begin(), camera.settings.end());
  out["name"] = camera.name.text();
  if (!camera.page.empty()) out["page"] = camera.page;
  return out;
}

// Marks become values. Errors: those of values that cannot be put in as they stand.
base::Result<std::string> unmarked(const std::string& text, const std::map<std::string, std::string>& values,
                                   const std::string& where) {
  std::string out;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t begin = text.find(kMarkBegins, at);
    out += text.substr(at, begin - at);
    if (begin == std::string::npos) break;
    const std::size_t end = text.find(kMarkEnds, begin);
    const std::string name = text.substr(begin + 1, end - begin - 1);
    const std::string& value = values.at(name);
    if (!may_stand_raw(value)) {
      return Error(ErrorCode::invalid_value, where,
                   fmt::format("{} holds characters that cannot be put in as they stand", name),
                   fmt::format("write {{{{{0}}}}} inside quotes instead of {{{{{{{0}}}}}}}", name));
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
                                        const std::string& where) {
  const std::map<std::string, std::string> values = values_of(camera);
  if (text.find(kMarkBegins) != std::string_view::npos || text.find(kMarkEnds) != std::string_view::npos) {
    return Error(ErrorCode::malformed, where, "holds control characters", "is it a text file?");
  }
  for (const auto& [name, value] : values) {
    if (std::any_of(value.begin(), value.end(), is_control)) {
      return Error(ErrorCode::invalid_value, fmt::format("{}: {}", camera.name.text(), name),
                   "holds a line break or another control character", "take it out");
    }
  }
  mustache::mustache filled{std::string(text)};
  if (!filled.is_valid()) {
    return Error(ErrorCode::malformed, where, filled.error_message(),
                 "mend the tags: {{name}}, {{#lamp}}…{{/lamp}}");
  }
  filled.set_custom_escape([&values](const std::string& value) {
    if (!value.starts_with(kMarkBegins)) return c_escaped(value);
    return c_escaped(values.at(value.substr(1, value.size() - 2)));
  });
  Asked asked(values);
  const std::string marked = filled.render(asked);
  if (!asked.partials().empty()) {
    return Error(ErrorCode::unsupported, where,
                 fmt::format("takes in another file, {{{{> {}}}}}", *asked.partials().begin()),
                 "put that file's text into the template");
  }
  const auto is_no_name = [](const std::string& name) { return name.size() > 40 || !may_stand_raw(name); };
  if (std::any_of(asked.missing().begin(), asked.missing().end(), is_no_name)) {
    return Error(ErrorCode::invalid_value, where, "holds a tag {{…}} that is no name",
                 "two braces begin a tag: part them with a space where they belong to the source");
  }
  if (!asked.missing().empty()) {
    return Error(ErrorCode::invalid_value, where,
                 fmt::format("asks for {}, which {} has no value for", fmt::join(asked.missing(), ", "),
                             camera.name.text()),
                 "add it under [camera.settings], or under [every.settings] for all");
  }
  return unmarked(marked, values, where);
}

}  // namespace rookery::plan
