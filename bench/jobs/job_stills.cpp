#include "bench/jobs/job_stills.h"

#include <filesystem>
#include <fstream>
#include <stdexcept>

#include <fmt/format.h>

#include "sim/encoder.h"
#include "sim/picture_faults.h"

namespace rookery::bench {
namespace {

constexpr sim::Size kSize{640, 480};
constexpr std::size_t kCells = 80 * 60;
// Part of the name of kept grids: raise it when scenes or cases change.
constexpr int kKeptVersion = 1;

sim::SceneTime scene_time(double s) { return sim::SceneTime(static_cast<std::int64_t>(s * 1e6)); }

std::unique_ptr<sim::Scene> scene_of(const JobCase& made) {
  auto scene = sim::make_printer_scene(made.scene, made.seed, kSize, made.job);
  if (!scene) throw std::runtime_error(scene.error().text());
  return std::move(scene.value());
}

// In seconds of the job instead of the scene.
void shift(std::optional<double>& s, double by) {
  if (s) *s -= by;
}

}  // namespace

class JobStills::Body {
 public:
  Body(const JobCase& made, const std::string& keep)
      : case_(made), scene_(scene_of(made)), picture_(kSize), quality_(45 + made.number % 4 * 10) {
    if (keep.empty()) return;
    std::filesystem::create_directories(keep);
    path_ = fmt::format("{}/case-{}-v{}.grids", keep, made.number, kKeptVersion);
    in_.open(path_, std::ios::binary);
    if (!in_) out_.open(path_ + ".part", std::ios::binary);
  }

  sim::Scene& scene() { return *scene_; }
  const JobCase& made() const { return case_; }

  void take(double scene_s, jpeg::LumaGrid& grid) {
    if (in_.is_open()) {
      grid.width = 80;
      grid.height = 60;
      grid.cells.resize(kCells);
      if (!in_.read(reinterpret_cast<char*>(grid.cells.data()), kCells))
        throw std::runtime_error(path_ + " is too short: delete it");
      return;
    }
    const sim::Bytes jpeg = photograph(scene_s, quality_);
    if (const auto made = jpeg::compute_luma_grid(std::as_bytes(std::span(*jpeg)), grid); !made)
      throw std::runtime_error(made.error().text());
    if (out_.is_open()) out_.write(reinterpret_cast<const char*>(grid.cells.data()), kCells);
  }

  sim::Bytes photograph(double scene_s, int quality) {
    sim::Canvas canvas(picture_);
    const sim::SceneTime t = scene_time(scene_s);
    scene_->draw(canvas, t);
    sim::add_noise(picture_, scene_->noise(t), static_cast<std::uint32_t>(t.count() / 1000));
    return encoder_.encode(picture_, quality);
  }

  // Kept only when all of it was drawn.
  void finish() {
    if (!out_.is_open()) return;
    out_.close();
    std::filesystem::rename(path_ + ".part", path_);
  }

 private:
  const JobCase case_;
  std::unique_ptr<sim::Scene> scene_;
  sim::Picture picture_;
  sim::Encoder encoder_;
  int quality_;
  std::string path_;
  std::ifstream in_;
  std::ofstream out_;
};

JobStills::JobStills(const JobCase& made, const std::string& keep)
    : body_(std::make_unique<Body>(made, keep)) {
  const double begins = made.job.idle_s;
  for (std::uint32_t i = 0;; ++i) {
    // A station's timer and a camera's pictures do not keep step.
    const double s = kStillEvery * i + 0.4 * static_cast<double>(sim::hash01(i, 99));
    if (s > made.ends_s) break;
    JobMoment moment{s - begins, *body_->scene().job_at(scene_time(s))};
    shift(moment.truth.detached_since_s, begins);
    shift(moment.truth.shifted_since_s, begins);
    shift(moment.truth.barren_since_s, begins);
    moments_.push_back(std::move(moment));
  }
}

JobStills::~JobStills() = default;

const jpeg::LumaGrid& JobStills::next() {
  body_->take(moments_[next_].at_s + body_->made().job.idle_s, grid_);
  if (++next_ == moments_.size()) body_->finish();
  return grid_;
}

void JobStills::write_picture(double job_s, const std::string& path) {
  const double s = std::max(0.0, job_s + body_->made().job.idle_s);
  const sim::Bytes jpeg = body_->photograph(s, 85);
  std::ofstream file(path, std::ios::binary);
  file.write(reinterpret_cast<const char*>(jpeg->data()), static_cast<std::streamsize>(jpeg->size()));
  if (!file) throw std::runtime_error("cannot write " + path);
}

}  // namespace rookery::bench
