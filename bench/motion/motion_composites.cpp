// Events of the motion detector against the truth of composites: people cut out of Debian's opencv-doc clip
// walk through its own empty street and photographs of the same package, while the light changes.
//
//   motion_composites [--minutes M] [--seed N] [--sensitivity 1..5] [--opacity 0.1..1] [--list]
//     [--show FOLDER]
//
// Each of the photographs for so many minutes under each light, 640×480 at 5 pictures a second, JPEG of 30
// kB, noise of 1.5 grey levels. What had 1 % of the picture at some moment is to be found: an event that
// overlaps it from 1 s before to 2 s after, where it was. docs/motion.md has the results.
#include <filesystem>
#include <fstream>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/motion/composites.h"
#include "bench/motion/film.h"

namespace rookery::bench {
namespace {

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  std::ranges::sort(values);
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
}

void print(std::string_view what, const CompositeScore& score) {
  fmt::print(
      "{:<14} {:>6} {:>6} {:>7.3f} {:>6}/{:<5} {:>6} {:>9.1f} {:>6} {:>6} {:>8.2f} {:>8.2f} {:>8.2f}\n", what,
      score.truths, score.found, static_cast<double>(score.found) / std::max(score.truths, 1),
      score.small_found, score.small_truths, score.false_events, score.false_events / score.hours,
      score.lamps, score.views, quantile(score.start_errors_s, 0.05), quantile(score.start_errors_s, 0.5),
      quantile(score.start_errors_s, 0.95));
  std::fflush(stdout);
}

void list(const CompositeScore& score) {
  const auto seconds = [](base::Microseconds time) { return std::chrono::duration<double>(time).count(); };
  for (const Pasted& it : score.missed)
    fmt::print("  missed {:.1f}–{:.1f} s, {:.2f} %, at {},{} {}×{}\n", seconds(it.start), seconds(it.end),
               100 * it.share, it.box.x, it.box.y, it.box.width, it.box.height);
  for (const vision::MotionEvent& it : score.wrong)
    fmt::print("  false {:.1f}–{:.1f} s, peak {:.2f} %, at {},{} {}×{}\n", seconds(it.start), seconds(it.end),
               100 * it.peak, it.box.x, it.box.y, it.box.width, it.box.height);
}

// A JPEG of the first walk's middle.
void show(const Setting& setting, const std::vector<Walk>& walks, const std::filesystem::path& file) {
  Composite composite(setting, walks);
  const sim::Picture* picture = nullptr;
  for (int walking = 0; walking < 8; walking += composite.somebody() ? 1 : 0) picture = &composite.next();
  const auto jpeg = sim::Encoder().encode(*picture, composite_quality(setting));
  std::ofstream(file, std::ios::binary)
      .write(reinterpret_cast<const char*>(jpeg->data()), static_cast<std::streamsize>(jpeg->size()));
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) {
  using namespace rookery;         // NOLINT(google-build-using-namespace)
  using namespace rookery::bench;  // NOLINT(google-build-using-namespace)
  double minutes = 10;
  unsigned seed = 1;
  int sensitivity = vision::Sensitivity::kMiddle;
  float opacity = 1;
  bool listed = false;
  std::string shown;
  CLI::App app{"Scores the motion detector against composites of real pictures"};
  app.add_option("--minutes", minutes, "Of each photograph under each light")->check(CLI::PositiveNumber);
  app.add_option("--seed", seed, "Of who walks where and when");
  app.add_option("--sensitivity", sensitivity, "1 coarse to 5 fine")->check(CLI::Range(1, 5));
  app.add_option("--opacity", opacity, "Of people")->check(CLI::Range(0.1, 1.0));
  app.add_flag("--list", listed, "What was missed and what was false");
  app.add_option("--show", shown, "A folder for one picture of each, for people");
  CLI11_PARSE(app, argc, argv);

  const auto film = read_pictures("vtest.avi", kFilm_hz / kComposite_hz);
  if (film.empty()) {
    fmt::print(stderr, "{}vtest.avi cannot be read: install Debian's opencv-doc and ffmpeg\n", kExamples);
    return 1;
  }
  const sim::Picture street = median_of(film);
  const auto walks = cut_walks(film, street);
  fmt::print("{} walks\n", walks.size());
  if (walks.empty()) return 1;
  fmt::print("{:<14} {:>6} {:>6} {:>7} {:>12} {:>6} {:>9} {:>6} {:>6} {:>8} {:>8} {:>8}\n", "", "truths",
             "found", "recall", "small", "false", "false/h", "lamps", "views", "start05", "start50",
             "start95");
  std::array<CompositeScore, kLights.size()> by_light;
  CompositeScore all;
  for (const char* name :
       {"vtest.avi", "building.jpg", "leuvenA.jpg", "graf1.png", "aloeL.jpg", "home.jpg"}) {
    const auto photograph =
        std::string_view(name) == "vtest.avi" ? std::vector{street} : read_pictures(name, 1, 1);
    if (photograph.empty()) {
      fmt::print(stderr, "{}{} cannot be read: install Debian's opencv-doc\n", kExamples, name);
      return 1;
    }
    CompositeScore here;
    for (std::size_t i = 0; i < kLights.size(); ++i) {
      const Setting setting{photograph[0], kLights[i], opacity, seed};
      const auto score =
          score_composite(setting, walks, static_cast<int>(60 * minutes * kComposite_hz), {sensitivity});
      if (!shown.empty())
        show(setting, walks,
             std::filesystem::path(shown) / fmt::format("{}-{}.jpg", name, name_of(kLights[i])));
      if (listed) fmt::print("{} {}\n", name, name_of(kLights[i]));
      if (listed) list(score);
      here.add(score);
      by_light[i].add(score);
      ++seed;
    }
    print(name, here);
    all.add(here);
  }
  for (std::size_t i = 0; i < kLights.size(); ++i) print(name_of(kLights[i]), by_light[i]);
  print("all", all);
  fmt::print("{:.1f} hours\n", all.hours);
  return 0;
}
