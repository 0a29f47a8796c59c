// Writes pictures of the scenes, to look at: sim_pictures FOLDER [SCENE|all] [SECONDS…] [--width N]. Not
// shipped.
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
  if (seconds.empty()) seconds = {0};
  for (const std::string_view name : sim::scene_names()) {
    if (which != "all" && which != name) continue;
    if (const int failed = write_scene(words[1], name, seconds, size); failed != 0) return failed;
  }
  return 0;
}
