// What a person types or keeps in files: values with units, plan files, settings templates.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "fuzz/promise.h"
#include "plan/plan_file.h"
#include "plan/settings_file.h"
#include "plan/unit_text.h"

using rookery::fuzz::require;
namespace plan = rookery::plan;

namespace {

void read_as_each_kind(std::string_view text) {
  for (int i = 0; i <= static_cast<int>(plan::Kind::money); ++i) {
    const auto kind = static_cast<plan::Kind>(i);
    const auto value = plan::read_value(text, kind, "value");
    if (!value) {
      require(!value.error().remedy.empty(), "a refusal says what is understood");
      continue;
    }
    require(std::isfinite(*value), "a value is a number");
    require(!plan::show_value(*value, kind).empty(), "a value can be shown");
  }
}

void read_as_plan(std::string_view text) {
  std::vector<rookery::base::Error> all;
  const auto file = plan::read_plan_file(text, "plan", &all);
  require(file.has_value() == all.empty(), "a plan with mistakes is none");
  for (const auto& error : all) require(!error.remedy.empty(), "a mistake says what to do");
  if (file) require(!file->cameras.empty(), "a plan has a camera");
}

void fill(std::string_view text) {
  plan::PlanSection section;
  section.settings = {{"key", plan::Setting("a\"b\\c")},
                      {"lamp", plan::Setting("false", false)},
                      {"mirror", plan::Setting("true", true)},
                      {"pin", plan::Setting("4")}};
  const plan::CameraPlan camera(section, *rookery::base::CameraName::parse("anvil"), "");
  const auto filled = plan::fill_settings(text, camera, "template");
  if (!filled) return;
  for (const char mark : {'\x01', '\x02', '\x03'})
    require(filled->find(mark) == std::string::npos, "no mark of ours is left");
  // The key may come in only escaped; a template may hold the same characters by itself.
  if (text.find("a\"b") == std::string_view::npos)
    require(filled->find("a\"b") == std::string::npos, "no bare quote");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  read_as_each_kind(text);
  read_as_plan(text);
  fill(text);
  return 0;
}
