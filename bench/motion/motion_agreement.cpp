// Do the moving regions that the detector sees on the luma grid agree with those of OpenCV's MOG2 and KNN on
// whole pictures?
//
//   motion_agreement [--kilobytes N] [--sheets FOLDER] [--frames N] [--seed N]
//
// Debian's opencv-doc clip, 640×480, as JPEG of a board's size; at its own 10 pictures a second and at 5. All
// get the same bytes. MOG2 and KNN with OpenCV's defaults on BGR; from their masks shadows and specks go
// (median of 5×5 pixels), a cell is on from a quarter of its pixels, and what hangs together is a region.
//
// Scored from 10 s on. Regions match where their boxes share half of the smaller one; "closely": where they
// share 0.3 of what either covers. To be found is a region of the size that counts (sensitivity 3: 19 cells);
// what is found is right if it matches one of 4 cells or more. Nobody of the three is the truth: KNN against
// MOG2 tells how far such things can agree. --sheets writes pictures of places where they differ, for people:
// ours green, MOG2's red, KNN's blue. docs/motion.md has the results.
#include <filesystem>
#include <map>
#include <random>

#include <fmt/format.h>
#include <CLI/CLI.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <opencv2/video/background_segm.hpp>

#include "bench/motion/film.h"
#include "vision/motion_detector.h"

namespace rookery::bench {
namespace {

constexpr int kCell_px = 8;
constexpr int kWarmUp_s = 10;
constexpr int kLeastCells = 4;

struct Region {
  cv::Rect box;  // cells
  int cells = 0;
};
using Regions = std::vector<Region>;

// Half of the smaller box: two who walk side by side may be one region here and two there, and a region of
// ours trails what it left within the last second.
bool match(const Region& a, const Region& b) {
  return 2 * (a.box & b.box).area() >= std::min(a.box.area(), b.box.area());
}

// The stricter rule: what both cover is at least 0.3 of what either does.
bool match_closely(const Region& a, const Region& b) {
  const int both = (a.box & b.box).area();
  return 10 * both >= 3 * (a.box.area() + b.box.area() - both);
}

using Rule = bool (*)(const Region&, const Region&);

bool found_among(const Region& one, const Regions& others, Rule rule = match) {
  return std::ranges::any_of(others, [&](const Region& other) { return rule(one, other); });
}

int wanted_cells(int sensitivity) {
  const double cells = kBoardSize.width / kCell_px * kBoardSize.height / kCell_px;
  return static_cast<int>(vision::Sensitivity{sensitivity}.least_share() * cells);
}

// What counts of a reference's regions, and all that may explain another's.
struct Seen {
  Regions wanted;
  Regions any;
};

// What three see in each picture, and what the detector saw and did not count, by its reason.
struct Sight {
  Seen ours;
  Seen mog2;
  Seen knn;
  std::map<std::string, Regions> passed_over;
};

Seen regions_of(cv::BackgroundSubtractor& model, const cv::Mat& picture, int least) {
  cv::Mat mask;
  model.apply(picture, mask);
  cv::threshold(mask, mask, 200, 255, cv::THRESH_BINARY);  // 127 is shadow
  cv::medianBlur(mask, mask, 5);
  cv::Mat cells;
  cv::resize(mask, cells, {mask.cols / kCell_px, mask.rows / kCell_px}, 0, 0, cv::INTER_AREA);
  cv::threshold(cells, cells, 63, 255, cv::THRESH_BINARY);
  cv::Mat labels, numbers, centres;
  const int count = cv::connectedComponentsWithStats(cells, labels, numbers, centres, 8);
  Seen seen;
  for (int i = 1; i < count; ++i) {
    const auto at = [&](int what) { return numbers.at<int>(i, what); };
    const Region region{
        {at(cv::CC_STAT_LEFT), at(cv::CC_STAT_TOP), at(cv::CC_STAT_WIDTH), at(cv::CC_STAT_HEIGHT)},
        at(cv::CC_STAT_AREA)};
    if (region.cells >= kLeastCells) seen.any.push_back(region);
    if (region.cells >= least) seen.wanted.push_back(region);
  }
  return seen;
}

// Ours has no smaller ones: what it does not count is not motion.
void take(const vision::MotionFrame& frame, Sight& sight) {
  for (const auto& region : frame.regions) {
    const Region found{{region.box.x, region.box.y, region.box.width, region.box.height},
                       static_cast<int>(region.cells)};
    if (region.counts)
      sight.ours.any.push_back(found);
    else
      sight.passed_over[std::string(region.why)].push_back(found);
  }
  sight.ours.wanted = sight.ours.any;
}

// every: pictures of the film to one that is looked at.
std::vector<Sight> look(const std::vector<sim::Bytes>& jpegs, int every, int sensitivity) {
  vision::MotionDetector detector({sensitivity});
  const auto mog2 = cv::createBackgroundSubtractorMOG2();
  const auto knn = cv::createBackgroundSubtractorKNN();
  const int least = wanted_cells(sensitivity);
  jpeg::LumaGrid grid;
  std::vector<Sight> sights;
  for (std::size_t n = 0; n < jpegs.size(); n += static_cast<std::size_t>(every)) {
    const auto& bytes = *jpegs[n];
    if (!jpeg::compute_luma_grid(std::as_bytes(std::span(bytes)), grid))
      throw std::runtime_error("no luma grid");
    const cv::Mat picture = cv::imdecode(bytes, cv::IMREAD_COLOR);
    const auto at = base::Microseconds(static_cast<std::int64_t>(n) * 1'000'000 / kFilm_hz);
    Sight& sight = sights.emplace_back();
    take(detector.add(grid, at), sight);
    sight.mog2 = regions_of(*mog2, picture, least);
    sight.knn = regions_of(*knn, picture, least);
  }
  return sights;
}

struct Score {
  int wanted = 0;
  int found = 0;
  int told = 0;
  int right = 0;
  void print(std::string_view who) const {
    const double recall = static_cast<double>(found) / std::max(wanted, 1);
    const double precision = static_cast<double>(right) / std::max(told, 1);
    fmt::print("  {:<14} precision {:.3f} ({} of {}), recall {:.3f} ({} of {}), F1 {:.3f}\n", who, precision,
               right, told, recall, found, wanted,
               2 * precision * recall / std::max(precision + recall, 1e-9));
  }
};

Score compare(const std::vector<Sight>& sights, std::size_t first, Seen Sight::*who, Seen Sight::*reference,
              Rule rule = match) {
  Score score;
  for (std::size_t i = first; i < sights.size(); ++i) {
    const Seen& told = sights[i].*who;
    const Seen& truth = sights[i].*reference;
    score.wanted += static_cast<int>(truth.wanted.size());
    score.told += static_cast<int>(told.wanted.size());
    for (const Region& region : truth.wanted) score.found += found_among(region, told.any, rule) ? 1 : 0;
    for (const Region& region : told.wanted) score.right += found_among(region, truth.any, rule) ? 1 : 0;
  }
  return score;
}

// Why the detector does not count what MOG2 found: its own reason, or "unseen".
void print_reasons(const std::vector<Sight>& sights, std::size_t first) {
  std::map<std::string, int> reasons;
  for (std::size_t i = first; i < sights.size(); ++i) {
    for (const Region& region : sights[i].mog2.wanted) {
      if (found_among(region, sights[i].ours.any)) continue;
      std::string why = "unseen";
      for (const auto& [reason, regions] : sights[i].passed_over)
        if (found_among(region, regions)) why = reason;
      ++reasons[why];
    }
  }
  fmt::print("  of MOG2's not found:");
  for (const auto& [why, count] : reasons) fmt::print(" {} {}", count, why);
  fmt::print("\n");
}

bool all_found(const Seen& a, const Seen& b) {
  return std::ranges::all_of(a.wanted, [&](const Region& region) { return found_among(region, b.any); });
}

bool differ(const Sight& sight) {
  return !all_found(sight.ours, sight.mog2) || !all_found(sight.mog2, sight.ours) ||
         !all_found(sight.ours, sight.knn) || !all_found(sight.knn, sight.ours);
}

void draw(cv::Mat& picture, const Seen& seen, const Seen& against, const cv::Scalar& colour, int grow) {
  for (const Region& region : seen.wanted) {
    const cv::Rect box(region.box.x * kCell_px - grow, region.box.y * kCell_px - grow,
                       region.box.width * kCell_px + 2 * grow, region.box.height * kCell_px + 2 * grow);
    cv::rectangle(picture, box, colour, found_among(region, against.any) ? 1 : 3);
  }
}

// Four a sheet; thick: what the other side does not have (ours against MOG2, both of them against ours).
void write_sheets(const std::vector<sim::Bytes>& jpegs, const std::vector<Sight>& sights,
                  const std::string& folder, std::size_t most, unsigned seed) {
  std::vector<std::size_t> where;
  for (std::size_t i = kWarmUp_s * kFilm_hz; i < sights.size(); ++i)
    if (differ(sights[i])) where.push_back(i);
  fmt::print("{} of {} pictures differ\n", where.size(), sights.size() - kWarmUp_s * kFilm_hz);
  // Shuffled by hand: the standard's shuffles and samples differ between libraries.
  std::mt19937 random(seed);
  for (std::size_t i = 0; i + 1 < where.size(); ++i)
    std::swap(where[i], where[i + random() % (where.size() - i)]);
  where.resize(std::min(where.size(), most));
  std::ranges::sort(where);
  std::filesystem::create_directories(folder);
  cv::Mat sheet(2 * kBoardSize.height, 2 * kBoardSize.width, CV_8UC3, cv::Scalar::all(0));
  for (std::size_t i = 0; i < where.size(); ++i) {
    const Sight& sight = sights[where[i]];
    cv::Mat picture = cv::imdecode(*jpegs[where[i]], cv::IMREAD_COLOR);
    draw(picture, sight.mog2, sight.ours, {0, 0, 255}, 2);
    draw(picture, sight.knn, sight.ours, {255, 0, 0}, 4);
    draw(picture, sight.ours, sight.mog2, {0, 255, 0}, 0);
    cv::putText(picture, std::to_string(where[i]), {8, 24}, cv::FONT_HERSHEY_SIMPLEX, 0.8, {0, 255, 255}, 2);
    const int place = static_cast<int>(i % 4);
    picture.copyTo(sheet(
        cv::Rect(place % 2 * kBoardSize.width, place / 2 * kBoardSize.height, picture.cols, picture.rows)));
    if (place == 3 || i + 1 == where.size()) cv::imwrite(fmt::format("{}/sheet{}.png", folder, i / 4), sheet);
  }
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) {
  using namespace rookery;         // NOLINT(google-build-using-namespace)
  using namespace rookery::bench;  // NOLINT(google-build-using-namespace)
  std::size_t kilobytes = 30;
  std::string sheets;
  std::size_t frames = 20;
  unsigned seed = 1;
  CLI::App app{"Compares moving regions with OpenCV's MOG2 and KNN"};
  app.add_option("--kilobytes", kilobytes, "Of the film's middle picture")->check(CLI::Range(5, 200));
  app.add_option("--sheets", sheets, "A folder for pictures of where they differ");
  app.add_option("--frames", frames, "On the sheets");
  app.add_option("--seed", seed, "Which of them");
  CLI11_PARSE(app, argc, argv);

  const auto pictures = read_pictures("vtest.avi");
  if (pictures.empty()) {
    fmt::print(stderr, "{}vtest.avi cannot be read: install Debian's opencv-doc and ffmpeg\n", kExamples);
    return 1;
  }
  const int quality = quality_for(pictures[pictures.size() / 2], 1000 * kilobytes);
  sim::Encoder encoder;
  std::vector<sim::Bytes> jpegs;
  double bytes = 0;
  for (const auto& picture : pictures) {
    jpegs.push_back(encoder.encode(picture, quality));
    bytes += static_cast<double>(jpegs.back()->size());
  }
  fmt::print("OpenCV {}; {} pictures, quality {}, {:.1f} kB on average\n", CV_VERSION, jpegs.size(), quality,
             bytes / 1000 / static_cast<double>(jpegs.size()));
  for (const int every : {1, 2}) {
    for (const int sensitivity : {3, 4, 5}) {
      const auto sights = look(jpegs, every, sensitivity);
      const auto first = static_cast<std::size_t>(kWarmUp_s * kFilm_hz / every);
      fmt::print("{} a second, sensitivity {} ({} cells)\n", kFilm_hz / every, sensitivity,
                 wanted_cells(sensitivity));
      compare(sights, first, &Sight::ours, &Sight::mog2).print("ours to MOG2");
      compare(sights, first, &Sight::ours, &Sight::knn).print("ours to KNN");
      compare(sights, first, &Sight::knn, &Sight::mog2).print("KNN to MOG2");
      compare(sights, first, &Sight::ours, &Sight::mog2, match_closely).print("ours, closely");
      compare(sights, first, &Sight::knn, &Sight::mog2, match_closely).print("KNN, closely");
      print_reasons(sights, first);
      if (every == 1 && sensitivity == 3 && !sheets.empty())
        write_sheets(jpegs, sights, sheets, frames, seed);
    }
  }
  return 0;
}
