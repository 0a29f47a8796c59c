// The strands that a print becomes when it goes wrong.
#include "sim/printer_mishaps.h"

namespace rookery::sim {
namespace {

constexpr float kPi = 3.14159265F;
constexpr int kCells = 80 * 60;
constexpr float kRim = 13;  // of every bed, from its middle, cm

struct LookOf {
  int strands;
  int points;
  float step;    // cm between two points
  float curl;    // radians a point
  float radius;  // of the heap at its largest, cm
  float height;
  float width;  // of a strand, cm
  float aside;  // of the heap's middle from the part's
};
constexpr LookOf kLooks[] = {
    {960, 26, 0.55F, 0.42F, 24, 10, 0.13F, 3},
    {980, 26, 0.48F, 0.75F, 22, 16, 0.14F, 1},
    {300, 34, 0.9F, 0.24F, 17, 4, 0.12F, 2},
    {600, 24, 0.55F, 0.55F, 22, 13, 0.28F, 5},
};

}  // namespace

Mess::Mess(const JobEvent& event, std::uint64_t seed64, float printed, float part_reach) {
  const std::uint32_t seed = hash32(static_cast<std::uint32_t>(seed64), 815);
  const LookOf& look = kLooks[event.manner % 4];
  const float size = std::sqrt(std::max(0.05F, event.strength));
  const float side = 2 * kPi * hash01(seed, 1);
  const Vec3 middle{look.aside * std::cos(side), look.aside * 0.6F * std::sin(side), 0};
  const auto n = static_cast<std::uint32_t>(static_cast<float>(look.strands) * event.strength);
  for (std::uint32_t i = 0; i < n; ++i) {
    const float done = static_cast<float>(i + 1) / static_cast<float>(n);
    const auto dice = [&](std::uint32_t k) { return hash01(seed, i * 64 + k + 10); };
    const float radius = look.radius * size * (0.3F + 0.7F * std::sqrt(done));
    const float height = look.height * size * std::sqrt(done);
    const float out = radius * std::sqrt(dice(1)) * 0.8F;
    float a = 2 * kPi * dice(2);
    Vec3 p{middle.x + out * std::cos(a), middle.y + out * 0.75F * std::sin(a), 0};
    float heading = 2 * kPi * dice(3);
    float curl = look.curl * (dice(4) < 0.5F ? -1.0F : 1.0F) * (0.4F + dice(5));
    // Over the part it lies on the part, beside it on what lies there already.
    Strand strand;
    strand.width = look.width * (0.8F + 0.5F * dice(6));
    strand.tone = 0.62F + 0.5F * dice(7);
    const float sag = dice(8);
    for (int k = 0; k < look.points; ++k) {
      const float from_middle = std::hypot(p.x - middle.x, p.y - middle.y) / std::max(1.0F, radius);
      const float from_part = std::hypot(p.x, p.y) / std::max(1.0F, part_reach * 0.8F);
      const float heap = height * std::max(0.0F, 1 - from_middle * from_middle);
      const float over = printed * smooth(1.15F, 0.9F, from_part);
      const float wave =
          0.5F + 0.5F * std::sin(static_cast<float>(k) * (0.4F + 0.3F * dice(9)) + 6 * dice(10));
      p.z = 0.1F + std::max(over + 0.25F * heap * wave, heap * (0.3F + 0.7F * wave * sag));
      // What reaches over the rim of the bed hangs down.
      p.z -= 1.3F * std::max(0.0F, std::max(std::fabs(p.x), std::fabs(p.y)) - kRim);
      strand.points.push_back(p);
      heading += curl;
      if (k % 7 == 6) curl = look.curl * (dice(11 + static_cast<std::uint32_t>(k)) * 2.4F - 1.2F);
      p += Vec3{std::cos(heading), std::sin(heading), 0} * look.step;
    }
    strands_.push_back(std::move(strand));
  }
}

std::size_t Mess::count(float amount) const {
  return std::min(strands_.size(),
                  static_cast<std::size_t>(clamp01(amount) * static_cast<float>(strands_.size()) + 0.5F));
}

void Mess::draw(Canvas& canvas, const Projection& view, Vec3 at, float amount, Ink colour, bool below) const {
  const std::size_t shown = count(amount);
  for (std::size_t i = 0; i < shown; ++i) {
    const Strand& strand = strands_[i];
    // What lies behind the part is drawn before it.
    if ((strand.points.front().y > 2 && strand.points.front().z < 2) != below) continue;
    Vec3 last = view.project(at + strand.points.front());
    for (std::size_t k = 1; k < strand.points.size(); ++k) {
      const Vec3 next = view.project(at + strand.points[k]);
      const float px = view.scale(next.z);
      const float width = strand.width * px;
      // The shaded side first, then the lit one a little above.
      canvas.line({last.x, last.y + width * 0.7F}, {next.x, next.y + width * 0.7F}, width * 1.2F,
                  scaled(colour, 0.3F), 0.5F);
      const float slope = std::fabs(strand.points[k].z - strand.points[k - 1].z);
      canvas.line({last.x, last.y}, {next.x, next.y}, width,
                  scaled(colour, strand.tone * (1 - 0.25F * std::min(1.0F, slope))), 0.95F);
      last = next;
    }
  }
}

void Mess::draw_thread(Canvas& canvas, const Projection& view, Vec3 at, float amount, Ink colour,
                       Vec3 nozzle) const {
  const std::size_t shown = count(amount);
  if (shown == 0) return;
  const Vec3 from = view.project(nozzle);
  const Vec3 to = view.project(at + strands_[shown - 1].points.back());
  const Point sag{(from.x + to.x) * 0.5F, std::max(from.y, to.y) + 2};
  Point last{from.x, from.y};
  for (int i = 1; i <= 10; ++i) {
    const float u = static_cast<float>(i) / 10;
    const Point next{(1 - u) * (1 - u) * from.x + 2 * u * (1 - u) * sag.x + u * u * to.x,
                     (1 - u) * (1 - u) * from.y + 2 * u * (1 - u) * sag.y + u * u * to.y};
    canvas.line(last, next, 0.12F * view.scale(to.z), colour, 0.9F);
    last = next;
  }
}

Mess::Seen Mess::seen(const Projection& view, Size size, Vec3 at, float amount) const {
  Seen seen;
  const float cell = static_cast<float>(size.width) / 80;
  std::vector<float> ink_of(kCells, 0.0F);
  Vec3 low{1e9F, 1e9F, 0};
  Vec3 high{-1e9F, -1e9F, 0};
  const std::size_t shown = count(amount);
  for (std::size_t i = 0; i < shown; ++i) {
    const Strand& strand = strands_[i];
    Vec3 last = view.project(at + strand.points.front());
    for (std::size_t k = 1; k < strand.points.size(); ++k) {
      const Vec3 next = view.project(at + strand.points[k]);
      const float x = (last.x + next.x) / 2;
      const float y = (last.y + next.y) / 2;
      low = {std::min({low.x, last.x, next.x}), std::min({low.y, last.y, next.y}), 0};
      high = {std::max({high.x, last.x, next.x}), std::max({high.y, last.y, next.y}), 0};
      const float area = std::hypot(next.x - last.x, next.y - last.y) * strand.width * view.scale(next.z);
      last = next;
      if (x < 0 || y < 0 || x >= static_cast<float>(size.width) || y >= static_cast<float>(size.height))
        continue;
      const int column = static_cast<int>(x / cell);
      const int row = std::min(59, static_cast<int>(y / cell));
      ink_of[static_cast<std::size_t>(row * 80 + column)] += area / (cell * cell);
    }
  }
  if (shown == 0) return seen;
  // Strands lie over each other: of a cell that they fill 0.22 times in all, a fifth is covered.
  for (const float much : ink_of) seen.share += much > 0.22F ? 1.0 / kCells : 0;
  const int left = std::max(0, static_cast<int>(low.x) - 2);
  const int top = std::max(0, static_cast<int>(low.y) - 2);
  seen.region = {left, top, std::max(0, std::min(size.width, static_cast<int>(high.x) + 3) - left),
                 std::max(0, std::min(size.height, static_cast<int>(high.y) + 4) - top)};
  return seen;
}

}  // namespace rookery::sim
