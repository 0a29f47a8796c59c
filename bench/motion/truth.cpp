#include "bench/motion/truth.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "sim/picture_faults.h"

namespace rookery::bench {
namespace {

constexpr sim::SceneTime kJoin{5'000'000};
constexpr sim::SceneTime kFirstMinute{60'000'000};
constexpr sim::SceneTime kJobTurn{15'000'000};
constexpr double kWorthFinding = 0.01;
constexpr double kSeen = 0.005;  // it begins when so much of the picture is touched
constexpr sim::SceneTime kLook{100'000};
constexpr double kVisibleShare = 0.004;
constexpr double kVisibleLevels = 2;
constexpr double kQuantum = 2;  // grey levels between two cells at IJG quality 50

double part(double s, double period) { return s / period - std::floor(s / period); }

// How often what happens, seconds. Usual: as over a day in a house by a road. Rough: all of it within half an
// hour.
struct Periods {
  double lamp;         // on and off again
  double bands;        // the last tenth of each
  double head_lights;  // for 3 s
  double cloud;        // for 25 s
};
constexpr Periods kUsual{14'400, 9'000, 1'800, 2'400};
constexpr Periods kRough{1'800, 1'500, 700, 1'100};

const Periods& periods(Troubles troubles) { return troubles == Troubles::rough ? kRough : kUsual; }
bool lamp_on(double s, const Periods& p) { return part(s, p.lamp) > 0.5; }
bool bands(double s, const Periods& p) { return part(s, p.bands) > 0.9; }
double head_lights(double s, const Periods& p) {
  const double into = part(s, p.head_lights) * p.head_lights;
  return into < 3 ? into / 3 : -1;
}
double shadow(double s, const Periods& p) {
  const double into = part(s + 350, p.cloud) * p.cloud;
  return into < 25 ? into / 25 : -1;
}

std::vector<Span> spans(const sim::Scene& scene, sim::SceneTime end, bool all) {
  std::vector<Span> found;
  const sim::Size size = scene.size();
  for (const sim::Motion& motion : scene.motions(end)) {
    if (motion.kind != sim::TruthKind::wanted) continue;
    Span span{motion.start, std::min(motion.end, end), std::string(motion.what), 0};
    bool seen = false;
    for (sim::SceneTime t = motion.start; t < span.end; t += sim::SceneTime(100'000)) {
      for (const sim::MovingBox& box : scene.moving_at(t)) {
        if (box.what != motion.what) continue;
        const double share = static_cast<double>(box.region.width) * box.region.height /
                             (static_cast<double>(size.width) * size.height);
        span.share = std::max(span.share, share);
        if (share < kSeen) continue;
        if (!seen) span.start = t;
        seen = true;
      }
    }
    if (!all && span.share < kWorthFinding) continue;
    if (!found.empty() && span.start - found.back().end < kJoin) {
      found.back().end = std::max(found.back().end, span.end);
      found.back().share = std::max(found.back().share, span.share);
    } else {
      found.push_back(span);
    }
  }
  return found;
}

}  // namespace

GridMaker::GridMaker(sim::Scene& scene, std::string name, std::uint64_t seed, Troubles troubles)
    : scene_(scene),
      name_(std::move(name)),
      troubles_(troubles),
      picture_(scene.size()),
      random_(static_cast<unsigned>(seed)),
      normal_(65'521) {
  std::normal_distribution<float> normal;
  for (float& number : normal_) number = normal(random_);
}

// The scene in its own light.
void GridMaker::draw(sim::SceneTime t) {
  sim::Canvas canvas(picture_);
  scene_.draw(canvas, t);
  const double s = seconds(t);
  if (troubles_ != Troubles::none) {
    sim::ActiveFaults faults;
    if (bands(s, periods(troubles_))) faults.set(sim::Fault::mains_bands, 0.06);
    const double knocks = std::floor(s / 43'200);
    if (knocks > 0) faults.set(sim::Fault::knocked, 4 * knocks);
    if (faults.changes_picture()) sim::apply_optics(picture_, faults, t);
  }
  const int width = picture_.size.width / 2;
  const int height = picture_.size.height / 2;
  cells_.resize(static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
  for (int y = 0; y < height; ++y) {
    const std::uint8_t* above = &picture_.y[static_cast<std::size_t>(2 * y * picture_.size.width)];
    const std::uint8_t* below = above + picture_.size.width;
    for (int x = 0; x < width; ++x) {
      cells_[static_cast<std::size_t>(y * width + x)] =
          0.25F * static_cast<float>(above[2 * x] + above[2 * x + 1] + below[2 * x] + below[2 * x + 1]);
    }
  }
}

void GridMaker::make(sim::SceneTime t, jpeg::LumaGrid& grid) {
  draw(t);
  if (troubles_ != Troubles::none) light(t);
  grid.width = picture_.size.width / 2;
  grid.height = picture_.size.height / 2;
  grid.cells.resize(cells_.size());
  // A cell is the mean of 64 pixels, each with its noise.
  const float noise = scene_.noise(t) / 8;
  std::size_t next = random_() % normal_.size();
  for (std::size_t i = 0; i < cells_.size(); ++i) {
    if (++next == normal_.size()) next = 0;
    const double value = static_cast<double>(cells_[i] + noise * normal_[next]) - 128;
    grid.cells[i] =
        static_cast<std::uint8_t>(std::clamp(kQuantum * std::round(value / kQuantum) + 128, 0.0, 255.0));
  }
}

// What lamps, the sky and the board's exposure do to the whole picture.
void GridMaker::light(sim::SceneTime t) {
  const double s = seconds(t);
  const int width = picture_.size.width / 2;
  const int height = picture_.size.height / 2;
  // Exposure: drifts by ±12 % in ten minutes, and the board corrects it in steps of 4 %.
  const double drift = 1 + 0.12 * std::sin(s / 95) + 0.04 * std::floor(3 * part(s, 270)) - 0.04;
  const bool lamp = lamp_on(s, periods(troubles_));
  const double sweep = head_lights(s, periods(troubles_));
  const double cloud = name_ == "bay" || name_ == "seedlings" ? shadow(s, periods(troubles_)) : -1;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      float& cell = cells_[static_cast<std::size_t>(y * width + x)];
      const double u = static_cast<double>(x) / width;
      const double v = static_cast<double>(y) / height;
      double light = drift;
      if (!lamp) light *= 0.55 + 0.25 * (u + v) / 2;
      if (sweep >= 0) {
        const double du = (u - (1.4 * sweep - 0.2)) / 0.18;
        const double dv = (v - 0.55) / 0.22;
        light *= 1 + 1.1 * std::exp(-du * du - dv * dv);
      }
      if (cloud >= 0) {
        const double du = (u - (2.2 * cloud - 0.6)) / 0.45;
        light *= 1 - 0.35 * std::exp(-du * du);
      }
      cell = std::min(255.0F, static_cast<float>(cell * light));
    }
  }
}

int GridMaker::standing_out(sim::SceneTime t, sim::SceneTime bare, const std::string& what, double levels) {
  draw(bare);
  if (troubles_ != Troubles::none) light(t);
  const std::vector<float> without = cells_;
  draw(t);
  if (troubles_ != Troubles::none) light(t);
  const int width = picture_.size.width / 2;
  const int height = picture_.size.height / 2;
  std::vector<bool> inside(cells_.size(), false);
  for (const sim::MovingBox& box : scene_.moving_at(t)) {
    if (box.what != what) continue;
    for (int y = std::max(box.region.y / 2, 0);
         y < std::min((box.region.y + box.region.height) / 2 + 1, height); ++y)
      for (int x = std::max(box.region.x / 2, 0);
           x < std::min((box.region.x + box.region.width) / 2 + 1, width); ++x)
        inside[static_cast<std::size_t>(y * width + x)] = true;
  }
  int count = 0;
  for (std::size_t i = 0; i < cells_.size(); ++i)
    count += inside[i] && std::abs(static_cast<double>(cells_[i] - without[i])) >= levels ? 1 : 0;
  return count;
}

std::string GridMaker::happening(sim::SceneTime t) const {
  const double s = seconds(t);
  std::string all;
  for (const sim::MovingBox& box : scene_.moving_at(t))
    all += fmt::format("{} {},{} {}×{}; ", box.what, box.region.x / 2, box.region.y / 2, box.region.width / 2,
                       box.region.height / 2);
  if (troubles_ == Troubles::none) return all;
  if (part(s, periods(troubles_).lamp / 2) * periods(troubles_).lamp / 2 < 4) all += "lamp; ";
  if (bands(s, periods(troubles_))) all += "bands; ";
  if (head_lights(s, periods(troubles_)) >= 0) all += "head lights; ";
  if (shadow(s, periods(troubles_)) >= 0) all += "shadow; ";
  return all;
}

std::vector<Span> wanted_spans(const sim::Scene& scene, sim::SceneTime end) {
  return spans(scene, end, false);
}
std::vector<Span> any_spans(const sim::Scene& scene, sim::SceneTime end) {
  std::vector<Span> all = spans(scene, end, true);
  all.push_back({{}, kFirstMinute, "learning"});
  for (const sim::Motion& motion : scene.motions(end)) {
    if (motion.kind != sim::TruthKind::job) continue;
    all.push_back({motion.start - kJobTurn, motion.start + kJobTurn, std::string(motion.what)});
    all.push_back({motion.end - kJobTurn, motion.end + kJobTurn, std::string(motion.what)});
  }
  return all;
}

sim::SceneTime visible_from(const sim::Scene& scene, GridMaker& maker, const Span& truth) {
  const auto is_there = [&](sim::SceneTime t) {
    return std::ranges::any_of(scene.moving_at(t), [&](const auto& box) { return box.what == truth.what; });
  };
  sim::SceneTime bare = truth.start;
  while (bare > kLook && is_there(bare)) bare -= kLook;
  const double cells = static_cast<double>(scene.size().width) * scene.size().height / 4;
  for (sim::SceneTime t = truth.start; t < truth.end; t += kLook)
    if (maker.standing_out(t, bare, truth.what, kVisibleLevels) >= kVisibleShare * cells) return t;
  return truth.end;
}

bool overlaps(const Span& truth, sim::SceneTime start, sim::SceneTime end) {
  return start <= truth.end + sim::SceneTime(2'000'000) && end >= truth.start - sim::SceneTime(1'000'000);
}

bool explained(const std::vector<Span>& truths, sim::SceneTime start, sim::SceneTime end) {
  return std::ranges::any_of(truths, [&](const Span& truth) { return overlaps(truth, start, end); });
}

}  // namespace rookery::bench
