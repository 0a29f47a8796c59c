#include "sim/scene.h"

#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr std::array<std::string_view, 8> kNames{"anvil",   "bobbin",    "cog",  "seedlings",
                                                 "counter", "back-door", "kiln", "bay"};

bool size_is_good(Size size) {
  return size.width >= 160 && size.height >= 120 && size.width <= 2048 && size.height <= 1536 &&
         size.width % 2 == 0 && size.height % 2 == 0;
}

}  // namespace

std::span<const std::string_view> scene_names() { return kNames; }

base::Result<std::unique_ptr<Scene>> make_scene(std::string_view name, std::uint64_t seed, Size size) {
  if (!size_is_good(size))
    return base::Error{base::ErrorCode::invalid_value, fmt::format("scene {}", name),
                       fmt::format("a picture of {}×{} pixels cannot be made", size.width, size.height),
                       "Give even numbers between 160×120 and 2048×1536"};
  if (name == "anvil" || name == "bobbin" || name == "cog") return make_printer(name, seed, size);
  if (name == "seedlings") return make_seedlings(seed, size);
  if (name == "counter") return make_counter(seed, size);
  if (name == "back-door") return make_back_door(seed, size);
  if (name == "kiln") return make_kiln(seed, size);
  if (name == "bay") return make_bay(seed, size);
  return base::Error{base::ErrorCode::not_found, "scene", fmt::format("there is no scene \"{}\"", name),
                     fmt::format("Choose one of: {}", fmt::join(kNames, ", "))};
}

}  // namespace rookery::sim
