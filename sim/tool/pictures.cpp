// Writes pictures of the scenes, to look at: sim_pictures FOLDER [SCENE|all] [SECONDS…] [--width N];
// sim_pictures FOLDER mishaps: of what may happen to a print. Not shipped.
#include <cstdio>
#include <cstdlib>

#include "sim/clock_code.h"
#include "sim/encoder.h"
#include "sim/scene.h"

using namespace rookery;  // NOLINT(google-build-using-namespace)

namespace {

int write_scene(const std::string& folder, std::string_view name, const std::vector<double>& seconds,
                sim::Size size) {
  const auto begun = std::chrono::steady_clock::now();
  auto made = sim::make_scene(name, 7, size);
  if (!made) {
    std::fprintf(stderr, "%s\n", made.error().text().c_str());
    return 2;
  }
  sim::Scene& scene = **made;
  const double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
  std::printf("%s: rendered in %.2f s\n", std::string(name).c_str(), took);
  sim::Picture picture(scene.size());
  sim::Canvas canvas(picture);
  sim::Encoder encoder;
  for (const double s : seconds) {
    const sim::SceneTime t(static_cast<std::int64_t>(s * 1e6));
    scene.draw(canvas, t);
    sim::draw_clock(canvas, base::WallTime(std::chrono::seconds(1'772'366'400)) + t);
    const sim::Bytes jpeg = encoder.encode(picture, 90);
    const std::string path = fmt::format("{}/{}-{:g}.jpg", folder, name, s);
    std::FILE* file = std::fopen(path.c_str(), "wb");
    if (file == nullptr || std::fwrite(jpeg->data(), 1, jpeg->size(), file) != jpeg->size()) return 3;
    std::fclose(file);
  }
  return 0;
}

struct Case {
  const char* name;
  const char* scene;
  sim::PrintedKind kind;
  std::vector<sim::JobEvent> events;
  std::vector<double> seconds;
};

// Each thing that may happen in a job, before it and while it lasts.
int write_mishaps(const std::string& folder, sim::Size size) {
  using enum sim::Mishap;
  using enum sim::PrintedKind;
  const auto off = [](sim::ComingOff how) {
    return std::vector<sim::JobEvent>{{came_off, 1'600, 0, 1, static_cast<std::uint8_t>(how)}};
  };
  const auto heap = [](sim::MessLook look) {
    return std::vector<sim::JobEvent>{{mess, 1'000, 1'000, 1, static_cast<std::uint8_t>(look)}};
  };
  const std::vector<double> fell{1'595, 1'605, 1'780};
  const std::vector<double> grew{1'050, 1'300, 1'995};
  const std::vector<Case> cases{
      {"bracket", "bobbin", bracket, {}, {600, 1'700}},
      {"plate", "bobbin", plate, {}, {300, 600}},
      {"rod", "anvil", rod, {}, {600, 2'900}},
      {"hollow", "bobbin", hollow, {}, {300, 1'100}},
      {"ring", "cog", ring, {}, {300, 800}},
      {"twist", "anvil", twist, {}, {800, 2'400}},
      {"slides", "bobbin", vase, off(sim::ComingOff::slides), fell},
      {"tips", "bobbin", rod, off(sim::ComingOff::tips), fell},
      {"tips-anvil", "anvil", vase, off(sim::ComingOff::tips), fell},
      {"dragged", "cog", tower, off(sim::ComingOff::dragged), fell},
      {"stays", "anvil", vase, off(sim::ComingOff::stays_behind), fell},
      {"flung", "anvil", twist, off(sim::ComingOff::flung), fell},
      {"leans", "bobbin", vase, off(sim::ComingOff::leans), fell},
      {"shift", "bobbin", tower, {{layer_shift, 1'000, 0, 1}}, {995, 2'000}},
      {"strands", "anvil", vase, heap(sim::MessLook::strands), grew},
      {"tangle", "bobbin", tower, heap(sim::MessLook::tangle), grew},
      {"loops", "cog", tower, heap(sim::MessLook::loops), grew},
      {"clump", "bobbin", bracket, heap(sim::MessLook::clump), grew},
      {"spool", "anvil", vase, {{spool_change, 1'000, 120}}, {1'020, 1'050, 1'080}},
      {"reach", "bobbin", vase, {{reach_in, 1'000, 20}}, {1'001, 1'010}},
      {"walk", "cog", vase, {{walk_by, 1'000, 6}}, {1'002, 1'003}},
      {"lamp", "bobbin", vase, {{lamp_off, 1'000, 100}}, {1'010}},
      {"knocked", "anvil", vase, {{knocked, 1'000, 0, 3}}, {1'010}},
      {"turned", "cog", vase, {{knocked, 1'000, 0, 40, 1}}, {1'010}},
      {"covered", "cog", vase, {{covered, 1'000}}, {1'010}},
      {"unsharp", "anvil", vase, {{unsharp, 1'000, 0, 7}}, {1'010}},
      {"finished", "anvil", bracket, {}, {1'740}},
  };
  sim::Picture picture(size);
  sim::Canvas canvas(picture);
  sim::Encoder encoder;
  for (const Case& it : cases) {
    auto made = sim::make_printer_scene(it.scene, 7, size, {it.kind, 20, true, 1e6, it.events});
    if (!made) {
      std::fprintf(stderr, "%s\n", made.error().text().c_str());
      return 2;
    }
    for (const double s : it.seconds) {
      const sim::SceneTime t(static_cast<std::int64_t>(s * 1e6));
      const auto begun = std::chrono::steady_clock::now();
      (*made)->draw(canvas, t);
      const double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
      const auto truth = (*made)->job_at(t);
      std::printf("%s %g: mess %.3f, drawn in %.1f ms\n", it.name, s, truth->mess_share, took * 1e3);
      const sim::Bytes jpeg = encoder.encode(picture, 90);
      const std::string path = fmt::format("{}/job-{}-{:g}.jpg", folder, it.name, s);
      std::FILE* file = std::fopen(path.c_str(), "wb");
      if (file == nullptr || std::fwrite(jpeg->data(), 1, jpeg->size(), file) != jpeg->size()) return 3;
      std::fclose(file);
    }
  }
  return 0;
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) {
    std::fprintf(stderr, "usage: sim_pictures FOLDER [SCENE|all] [SECONDS...] [--width N]\n");
    return 2;
  }
  const std::string which = count > 2 ? words[2] : "all";
  std::vector<double> seconds;
  sim::Size size;
  for (int i = 3; i < count; ++i) {
    if (std::string_view(words[i]) == "--width" && i + 1 < count) {
      size.width = std::atoi(words[++i]);
      size.height = size.width * 3 / 4;
    } else {
      seconds.push_back(std::atof(words[i]));
    }
  }
  if (which == "mishaps") return write_mishaps(words[1], size);
  if (seconds.empty()) seconds = {0};
  for (const std::string_view name : sim::scene_names()) {
    if (which != "all" && which != name) continue;
    if (const int failed = write_scene(words[1], name, seconds, size); failed != 0) return failed;
  }
  return 0;
}
