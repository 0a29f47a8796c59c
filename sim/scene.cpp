#include "sim/scene.h"

#include <algorithm>
#include <array>

#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr std::array<std::string_view, 8> kNames{"anvil",   "bobbin",    "cog",  "seedlings",
                                                 "counter", "back-door", "kiln", "bay"};

bool size_is_good(Size size) {
  return size.width >= 160 && size.height >= 120 && size.width <= 2048 && size.height <= 1536 &&
         size.width % 2 == 0 && size.height % 2 == 0;
}

base::Error bad_size(std::string_view name, Size size) {
  return {base::ErrorCode::invalid_value, fmt::format("scene {}", name),
          fmt::format("a picture of {}×{} pixels cannot be made", size.width, size.height),
          "Give even numbers between 160×120 and 2048×1536"};
}

std::optional<base::Error> wrong_with(const PrintJob& job) {
  const auto wrong = [](std::string what, std::string_view hint) {
    return base::Error{base::ErrorCode::invalid_value, "print job", std::move(what), std::string(hint)};
  };
  if (!(job.rest_s >= 20 && job.rest_s <= 1e6))
    return wrong(fmt::format("a rest of {} s cannot be kept", job.rest_s), "Give 20 to 1000000 s");
  if (!(job.idle_s >= 0 && job.idle_s <= 1e5))
    return wrong(fmt::format("{} s before the beginning cannot be shown", job.idle_s), "Give 0 to 100000 s");
  std::array<int, kMishaps> seen{};
  for (const JobEvent& event : job.events) {
    const auto kind = static_cast<std::size_t>(event.what);
    if (kind >= kMishaps || !(event.at_s >= 0 && event.at_s <= 1e7) ||
        !(event.length_s >= 0 && event.length_s <= 1e7) || !(event.strength > 0 && event.strength <= 90))
      return wrong(fmt::format("event {} at {} s has something outside its range", kind, event.at_s),
                   "sim/print_job.h says what each takes");
    const bool lasts =
        event.what == Mishap::reach_in || event.what == Mishap::walk_by || event.what == Mishap::spool_change;
    if (lasts && event.length_s < 2)
      return wrong(fmt::format("event {} at {} s is too short", kind, event.at_s), "Give it 2 s or more");
    const bool once = event.what == Mishap::came_off || event.what == Mishap::layer_shift ||
                      event.what == Mishap::mess || event.what == Mishap::knocked;
    if (++seen[kind] > 1 && once)
      return wrong(fmt::format("event {} happens more than once", kind), "Leave one of them");
  }
  return std::nullopt;
}

// How often a motion is looked at to find all the places that it touches.
constexpr SceneTime kLookEvery{100'000};
constexpr int kMostLooks = 400;

Region joined(Region a, Region b) {
  if (a.width == 0) return b;
  if (b.width == 0) return a;
  const int left = std::min(a.x, b.x);
  const int top = std::min(a.y, b.y);
  return {left, top, std::max(a.x + a.width, b.x + b.width) - left,
          std::max(a.y + a.height, b.y + b.height) - top};
}

}  // namespace

std::string_view name_of(TruthKind kind) {
  constexpr std::array<std::string_view, 5> kKinds{"wanted", "job", "ambient", "light", "fault"};
  return kKinds[static_cast<std::size_t>(kind)];
}

void Scene::draw(Canvas& canvas, SceneTime t) {
  prepare(t);
  paint(canvas, t);
}

std::vector<MovingBox> Scene::moving_at(SceneTime t) const {
  std::vector<MovingBox> boxes;
  Canvas canvas(size_, boxes);
  paint(canvas, t);
  return boxes;
}

Region Scene::region_of(const Motion& motion) const {
  const SceneTime length = motion.end - motion.start;
  const auto looks = std::clamp<std::int64_t>(length / kLookEvery, 1, kMostLooks);
  Region region;
  for (std::int64_t i = 0; i <= looks; ++i) {
    // Both ends are looked at from inside: at the end itself it may be gone.
    const SceneTime at = motion.start + std::min(length * i / looks, length - SceneTime(1));
    for (const MovingBox& box : moving_at(std::max(at, SceneTime{}))) {
      if (box.what == motion.what) region = joined(region, box.region);
    }
  }
  return region;
}

std::vector<Motion> Scene::motions(SceneTime until) const {
  std::vector<Motion> all = happenings(until);
  std::erase_if(all, [until](const Motion& motion) { return motion.start >= until; });
  std::stable_sort(all.begin(), all.end(),
                   [](const Motion& a, const Motion& b) { return a.start < b.start; });
  for (Motion& motion : all) motion.region = region_of(motion);
  return all;
}

std::span<const std::string_view> scene_names() { return kNames; }

base::Result<std::unique_ptr<Scene>> make_printer_scene(std::string_view name, std::uint64_t seed, Size size,
                                                        const PrintJob& job) {
  if (!size_is_good(size)) return bad_size(name, size);
  if (!(job.layer_seconds >= 1 && job.layer_seconds <= 3600))
    return base::Error{base::ErrorCode::invalid_value, fmt::format("scene {}", name),
                       fmt::format("a layer of {} s cannot be printed", job.layer_seconds),
                       "Give 1 to 3600 s"};
  if (auto wrong = wrong_with(job)) return std::move(*wrong);
  if (name == "anvil" || name == "bobbin" || name == "cog") return make_printer(name, seed, size, job);
  return base::Error{base::ErrorCode::not_found, "scene", fmt::format("there is no printer \"{}\"", name),
                     "Choose one of: anvil, bobbin, cog"};
}

base::Result<std::unique_ptr<Scene>> make_scene(std::string_view name, std::uint64_t seed, Size size) {
  if (!size_is_good(size)) return bad_size(name, size);
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
