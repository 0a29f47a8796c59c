#include "bench/lapse/job_knocks.h"

#include <cmath>
#include <numbers>
#include <random>
#include <stdexcept>

#include "sim/encoder.h"
#include "sim/picture_faults.h"
#include "vision/lapse_steady.h"

namespace rookery::bench {
namespace {

constexpr int kWidth = 640;
constexpr int kHeight = 480;
constexpr std::size_t kStays = 5;  // frames that a knock lasts

struct Knock {
  double dx = 0;
  double dy = 0;
  double turn_deg = 0;
};

class Photographer {
 public:
  explicit Photographer(const JobOptions& job) {
    auto made =
        sim::make_printer_scene(job.scene, job.seed, {kWidth, kHeight}, {job.kind, job.layer_s, true});
    if (!made) throw std::runtime_error(made.error().text());
    scene_ = std::move(made.value());
  }
  jpeg::LumaPlane take(double at_s, const Knock& knock) {
    const auto t = sim::SceneTime(static_cast<std::int64_t>(at_s * 1e6));
    sim::Picture picture(scene_->size());
    sim::Canvas canvas(picture);
    scene_->draw(canvas, t);
    // The knock, as what takes its opposite back.
    const double turn = knock.turn_deg * std::numbers::pi / 180;
    const double back_x = -(std::cos(turn) * knock.dx + std::sin(turn) * knock.dy);
    const double back_y = -(-std::sin(turn) * knock.dx + std::cos(turn) * knock.dy);
    auto steady = picture.y;
    vision::take_back({steady.data(), kWidth, kHeight, kWidth}, back_x, back_y, -knock.turn_deg,
                      {picture.y.data(), kWidth, kHeight, kWidth});
    sim::add_noise(picture, scene_->noise(t), static_cast<std::uint32_t>(t.count() / 1000));
    auto gray = sim::decode_gray(*encoder_.encode(picture, 50));
    if (!gray) throw std::runtime_error("no such picture");
    jpeg::LumaPlane plane;
    plane.width_px = gray->width;
    plane.height_px = gray->height;
    plane.pixels = std::move(gray->luma);
    return plane;
  }

 private:
  std::unique_ptr<sim::Scene> scene_;
  sim::Encoder encoder_;
};

vision::SteadyPlan steadied(Photographer& camera, const FilmedJob& film, const vision::LapseChoice& choice,
                            const std::vector<Knock>& knocks) {
  const auto still = vision::still_cells(choice);
  auto steadier = vision::Steadier::make(kWidth, kHeight, still, kGridWidth / 2, kGridHeight / 2);
  if (!steadier) throw std::runtime_error(steadier.error().text());
  for (std::size_t i = 0; i < choice.frames.size(); ++i) {
    const double at_s = film.stills()[choice.frames[i].picture].at_s;
    if (auto added = steadier->add(camera.take(at_s, knocks[i]), at_s); !added)
      throw std::runtime_error(added.error().text());
  }
  return steadier->finish();
}

}  // namespace

KnockScore score_knocks(const FilmedJob& film, const JobOptions& job, const vision::LapseChoice& choice) {
  KnockScore score;
  Photographer camera(job);
  std::mt19937 random(static_cast<unsigned>(job.seed));
  std::uniform_real_distribution<double> turn(-2.8, 2.8);
  std::uniform_real_distribution<double> share(-0.04, 0.04);
  std::vector<Knock> knocks(choice.frames.size());
  for (std::size_t i = kStays; i < knocks.size(); ++i)
    knocks[i] = i % kStays == 0 ? Knock{share(random) * kWidth, share(random) * kHeight, turn(random)}
                                : knocks[i - 1];
  const auto plan = steadied(camera, film, choice, knocks);
  score.cuts = static_cast<int>(plan.cuts.size());
  for (std::size_t i = kStays; i < knocks.size(); ++i) {
    const auto& found = plan.frames[i];
    const double off_deg = std::abs(found.turn_deg - knocks[i].turn_deg);
    const double off_px = std::hypot(found.dx_px - knocks[i].dx, found.dy_px - knocks[i].dy);
    ++score.frames;
    score.found += off_deg <= 0.1 && off_px <= 1 ? 1 : 0;
    score.turn_mean += off_deg;
    score.shift_mean += off_px;
    score.turn_most = std::max(score.turn_most, off_deg);
    score.shift_most = std::max(score.shift_most, off_px);
  }
  score.turn_mean /= std::max(1, score.frames);
  score.shift_mean /= std::max(1, score.frames);
  for (const Knock& large :
       {Knock{0, 0, 5}, Knock{0, 0, -4.5}, Knock{64, 0, 0}, Knock{0, -48, 0}, Knock{50, 20, 3.5}}) {
    std::vector<Knock> once(choice.frames.size());
    for (std::size_t i = once.size() / 2; i < once.size(); ++i) once[i] = large;
    ++score.large;
    const auto cut = steadied(camera, film, choice, once).cuts;
    score.large_cut += cut.size() == 1 && cut.front().frame == once.size() / 2 ? 1 : 0;
  }
  return score;
}

}  // namespace rookery::bench
