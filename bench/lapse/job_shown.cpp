#include "bench/lapse/job_shown.h"

#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include <fmt/format.h>

#include "sim/picture_faults.h"

namespace rookery::bench {
namespace {

constexpr int kWidth = 640;
constexpr int kHeight = 480;
constexpr int kCell = kWidth / kGridWidth;
constexpr int kQuality = 50;  // as the workshop's boards
constexpr std::size_t kOnASide = 13;
constexpr std::uint8_t kPaint = 128;

std::vector<std::uint8_t> grid_of(const std::vector<std::uint8_t>& luma) {
  std::vector<std::uint8_t> grid;
  for (int cy = 0; cy < kGridHeight; ++cy) {
    for (int cx = 0; cx < kGridWidth; ++cx) {
      int sum = 0;
      for (int y = cy * kCell; y < (cy + 1) * kCell; ++y)
        for (int x = cx * kCell; x < (cx + 1) * kCell; ++x)
          sum += luma[static_cast<std::size_t>(y * kWidth + x)];
      grid.push_back(static_cast<std::uint8_t>((sum + kCell * kCell / 2) / (kCell * kCell)));
    }
  }
  return grid;
}

// In pixels, of both.
void paint_over(std::vector<std::uint8_t>& luma, const sim::Region& cells) {
  for (int y = std::max(0, cells.y * kCell); y < std::min(kHeight, (cells.y + cells.height) * kCell); ++y) {
    for (int x = std::max(0, cells.x * kCell); x < std::min(kWidth, (cells.x + cells.width) * kCell); ++x)
      luma[static_cast<std::size_t>(y * kWidth + x)] = kPaint;
  }
}

// Means of the cells outside both parts.
double unlike(const std::vector<std::uint8_t>& a, const std::vector<std::uint8_t>& b,
              const sim::Region& part_a, const sim::Region& part_b) {
  const auto inside = [](const sim::Region& r, int x, int y) {
    return x >= r.x && x < r.x + r.width && y >= r.y && y < r.y + r.height;
  };
  double sum = 0;
  int count = 0;
  for (int cy = 0; cy < kGridHeight; ++cy) {
    for (int cx = 0; cx < kGridWidth; ++cx) {
      if (inside(part_a, cx, cy) || inside(part_b, cx, cy)) continue;
      int difference = 0;
      for (int y = cy * kCell; y < (cy + 1) * kCell; ++y) {
        for (int x = cx * kCell; x < (cx + 1) * kCell; ++x) {
          const auto at = static_cast<std::size_t>(y * kWidth + x);
          difference += a[at] - b[at];
        }
      }
      sum += std::abs(static_cast<double>(difference)) / (kCell * kCell);
      ++count;
    }
  }
  return count == 0 ? 0 : sum / count;
}

// Pairs of frames, one behind the other, to FFmpeg's program.
class Ssim {
 public:
  explicit Ssim(std::string log) : log_(std::move(log)) {
    if (log_.empty()) return;
    pipe_ = ::popen(fmt::format("ffmpeg -v info -nostdin -f rawvideo -pix_fmt gray -s {}x{} -i - -lavfi "
                                "\"[0]split[x][y];[x]select='not(mod(n,2))',setpts=N[a];"
                                "[y]select='mod(n,2)',setpts=N[b];[a][b]ssim\" -f null - 2>'{}'",
                                kWidth, kHeight, log_)
                        .c_str(),
                    "w");
    if (pipe_ == nullptr) throw std::runtime_error("no ffmpeg");
  }
  ~Ssim() {
    if (pipe_ != nullptr) ::pclose(pipe_);
  }
  Ssim(const Ssim&) = delete;
  Ssim& operator=(const Ssim&) = delete;

  void add(std::vector<std::uint8_t> a, std::vector<std::uint8_t> b, const sim::Region& part_a,
           const sim::Region& part_b) {
    if (pipe_ == nullptr) return;
    for (auto* picture : {&a, &b}) {
      paint_over(*picture, part_a);
      paint_over(*picture, part_b);
      if (std::fwrite(picture->data(), 1, picture->size(), pipe_) != picture->size())
        throw std::runtime_error("ffmpeg ended: " + log_);
    }
  }
  double finish() {
    if (pipe_ == nullptr) return 0;
    ::pclose(std::exchange(pipe_, nullptr));
    std::stringstream said;
    said << std::ifstream(log_).rdbuf();
    const std::string text = said.str();
    const auto at = text.rfind("SSIM Y:");
    if (at == std::string::npos) throw std::runtime_error("no SSIM in " + log_);
    return std::stod(text.substr(at + 7));
  }

 private:
  std::string log_;
  std::FILE* pipe_ = nullptr;
};

}  // namespace

ShownFilm::ShownFilm(const JobOptions& job, std::string log) : log_(std::move(log)) {
  auto made = sim::make_printer_scene(job.scene, job.seed, {kWidth, kHeight}, {job.kind, job.layer_s, true});
  if (!made) throw std::runtime_error(made.error().text());
  scene_ = std::move(made.value());
}

ShownFilm::~ShownFilm() = default;

std::vector<std::uint8_t> ShownFilm::photograph(const JobStill& still) {
  const auto t = sim::SceneTime(static_cast<std::int64_t>(still.at_s * 1e6));
  sim::Picture picture(scene_->size());
  sim::Canvas canvas(picture);
  scene_->draw(canvas, t);
  sim::add_noise(picture, scene_->noise(t), static_cast<std::uint32_t>(t.count() / 1000));
  const auto jpeg = encoder_.encode(picture, kQuality);
  auto gray = sim::decode_gray(*jpeg);
  if (!gray || gray->width != kWidth || gray->height != kHeight) throw std::runtime_error("no such picture");
  return std::move(gray->luma);
}

// The rule of archive/lapse_beside.h.
ShownFilm::Shown ShownFilm::show(const std::vector<JobStill>& stills, const std::vector<std::size_t>& row,
                                 std::size_t at) {
  const std::size_t number = row[at];
  const double now_s = stills[number].at_s;
  const double before_s = now_s - stills[row[at == 0 ? 0 : at - 1]].at_s;
  const double behind_s = stills[row[std::min(at + 1, row.size() - 1)]].at_s - now_s;
  const double reach_before = (at == 0 ? behind_s : before_s) / 4;
  const double reach_behind = (at + 1 == row.size() ? before_s : behind_s) / 4;
  Shown shown;
  shown.sent = photograph(stills[number]);
  shown.quiet = shown.sent;
  vision::QuietCells quiet(grid_of(shown.sent));
  const auto add = [&](std::size_t other, double reach_s) {
    if (std::abs(stills[other].at_s - now_s) >= reach_s) return;
    quiet.add(grid_of(photograph(stills[other])));
  };
  for (std::size_t k = kOnASide; k > 0; --k) {
    if (number >= k) add(number - k, reach_before);
  }
  for (std::size_t k = 1; k <= kOnASide; ++k) {
    if (number + k < stills.size()) add(number + k, reach_behind);
  }
  shown.taken = static_cast<double>(quiet.taken());
  vision::apply_corrections(quiet.compute_corrections(), kWidth, kHeight, false,
                            {shown.quiet.data(), kWidth, kHeight, kWidth});
  return shown;
}

ShownScore ShownFilm::score(const std::vector<JobStill>& stills, const std::vector<std::size_t>& row) {
  ShownScore score;
  if (row.size() < 2) return score;
  Ssim sent(log_.empty() ? "" : log_ + ".sent");
  Ssim quiet(log_.empty() ? "" : log_ + ".quiet");
  Shown before;
  for (std::size_t i = 0; i < row.size(); ++i) {
    Shown now = show(stills, row, i);
    score.taken += now.taken / static_cast<double>(row.size());
    if (i > 0) {
      const sim::Region& part_before = stills[row[i - 1]].part;
      const sim::Region& part = stills[row[i]].part;
      score.sent += unlike(before.sent, now.sent, part_before, part);
      score.quiet += unlike(before.quiet, now.quiet, part_before, part);
      sent.add(before.sent, now.sent, part_before, part);
      quiet.add(before.quiet, now.quiet, part_before, part);
    }
    before = std::move(now);
  }
  const auto steps = static_cast<double>(row.size() - 1);
  score.sent /= steps;
  score.quiet /= steps;
  score.ssim_sent = sent.finish();
  score.ssim_quiet = quiet.finish();
  return score;
}

}  // namespace rookery::bench
