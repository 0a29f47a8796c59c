#include "vision/rigid_match.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace rookery::vision {
namespace {

constexpr std::array kLongestSides = {80, 160};
constexpr int kAround = 6;  // detail is what differs from the mean of so many pixels to each side
constexpr int kMostSteps = 15;
constexpr double kStill_px = 0.002;  // a step by less is the last
constexpr double kSearchStep_deg = 1.5;

double radians(double degrees) { return degrees * std::numbers::pi / 180; }

// Means of the picture's parts.
std::vector<float> reduced(int width, int height, int to_width, int to_height, const auto& at) {
  std::vector<float> out;
  out.reserve(static_cast<std::size_t>(to_width) * static_cast<std::size_t>(to_height));
  for (int r = 0; r < to_height; ++r) {
    const int top = r * height / to_height;
    const int bottom = std::max(top + 1, (r + 1) * height / to_height);
    for (int c = 0; c < to_width; ++c) {
      const int left = c * width / to_width;
      const int right = std::max(left + 1, (c + 1) * width / to_width);
      float sum = 0;
      for (int y = top; y < bottom; ++y)
        for (int x = left; x < right; ++x) sum += at(x, y);
      out.push_back(sum / static_cast<float>((right - left) * (bottom - top)));
    }
  }
  return out;
}

// Less the mean of what is round each pixel: light that changes slowly across the picture does not count.
std::vector<float> detail_of(const std::vector<float>& values, int width, int height) {
  const auto stride = static_cast<std::size_t>(width) + 1;
  std::vector<double> sums(stride * (static_cast<std::size_t>(height) + 1));
  for (int y = 0; y < height; ++y) {
    double row = 0;
    for (int x = 0; x < width; ++x) {
      row += static_cast<double>(values[static_cast<std::size_t>(y * width + x)]);
      const std::size_t below = (static_cast<std::size_t>(y) + 1) * stride + static_cast<std::size_t>(x) + 1;
      sums[below] = sums[below - stride] + row;
    }
  }
  std::vector<float> out(values.size());
  for (int y = 0; y < height; ++y) {
    const auto top = static_cast<std::size_t>(std::max(0, y - kAround)) * stride;
    const auto bottom = static_cast<std::size_t>(std::min(height, y + kAround + 1)) * stride;
    for (int x = 0; x < width; ++x) {
      const auto left = static_cast<std::size_t>(std::max(0, x - kAround));
      const auto right = static_cast<std::size_t>(std::min(width, x + kAround + 1));
      const double sum = sums[bottom + right] - sums[bottom + left] - sums[top + right] + sums[top + left];
      const auto count = static_cast<double>((bottom - top) / stride * (right - left));
      const auto here = static_cast<std::size_t>(y * width + x);
      out[here] = values[here] - static_cast<float>(sum / count);
    }
  }
  return out;
}

// Calls `each(pixel, column and row from the middle, now's value there)` for all pixels that `now` shows.
void over(const MatchPicture::Level& now, const RigidMove& move, double scale, const auto& each) {
  const double turn = radians(move.turn_deg);
  const double c = std::cos(turn);
  const double s = std::sin(turn);
  const double middle_x = 0.5 * (now.width - 1);
  const double middle_y = 0.5 * (now.height - 1);
  for (int y = 1; y + 1 < now.height; ++y) {
    const double v = y - middle_y;
    for (int x = 1; x + 1 < now.width; ++x) {
      const double u = x - middle_x;
      const double px = middle_x + c * u - s * v + move.dx_px / scale;
      const double py = middle_y + s * u + c * v + move.dy_px / scale;
      if (!(px >= 0 && py >= 0 && px < now.width - 1 && py < now.height - 1)) continue;
      const int left = static_cast<int>(px);
      const int top = static_cast<int>(py);
      const auto fx = static_cast<float>(px - left);
      const auto fy = static_cast<float>(py - top);
      const float* at = now.detail.data() + static_cast<std::ptrdiff_t>(top) * now.width + left;
      const float above = at[0] + fx * (at[1] - at[0]);
      const float below = at[now.width] + fx * (at[now.width + 1] - at[now.width]);
      each(static_cast<std::size_t>(y * now.width + x), u, v,
           static_cast<double>(above + fy * (below - above)));
    }
  }
}

// The symmetric equations of three unknowns, by Cramer's rule; nothing where they do not tell.
std::array<double, 3> solved(const std::array<double, 6>& m, const std::array<double, 3>& r) {
  const auto [a, b, c, d, e, f] = m;  // a b c / b d e / c e f
  const double det = a * (d * f - e * e) - b * (b * f - c * e) + c * (b * e - c * d);
  if (!(std::abs(det) > 1e-9)) return {};
  return {(r[0] * (d * f - e * e) - b * (r[1] * f - e * r[2]) + c * (r[1] * e - d * r[2])) / det,
          (a * (r[1] * f - e * r[2]) - r[0] * (b * f - c * e) + c * (b * r[2] - r[1] * c)) / det,
          (a * (d * r[2] - r[1] * e) - b * (b * r[2] - r[1] * c) + r[0] * (b * e - c * d)) / det};
}

}  // namespace

RigidMove joined(const RigidMove& a, const RigidMove& b) {
  const double turn = radians(b.turn_deg);
  return {std::cos(turn) * a.dx_px - std::sin(turn) * a.dy_px + b.dx_px,
          std::sin(turn) * a.dx_px + std::cos(turn) * a.dy_px + b.dy_px, a.turn_deg + b.turn_deg};
}

RigidMatch::RigidMatch(int width_px, int height_px, std::span<const float> weights)
    : width_px_(width_px), height_px_(height_px) {
  for (const int side : kLongestSides) {
    const double scale = std::max(1.0, static_cast<double>(std::max(width_px, height_px)) / side);
    Size size{std::max(8, static_cast<int>(std::lround(width_px / scale))),
              std::max(8, static_cast<int>(std::lround(height_px / scale))),
              scale,
              {}};
    size.weights = reduced(width_px, height_px, size.width, size.height, [&](int x, int y) {
      return weights[static_cast<std::size_t>(y) * static_cast<std::size_t>(width_px) +
                     static_cast<std::size_t>(x)];
    });
    sizes_.push_back(std::move(size));
  }
}

MatchPicture RigidMatch::compute(const jpeg::LumaPlane& plane) const {
  MatchPicture picture;
  for (const Size& size : sizes_) {
    const auto values = reduced(width_px_, height_px_, size.width, size.height, [&](int x, int y) {
      return static_cast<float>(
          plane.pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(width_px_) +
                       static_cast<std::size_t>(x)]);
    });
    picture.levels.push_back({size.width, size.height, detail_of(values, size.width, size.height)});
  }
  return picture;
}

RigidMove RigidMatch::refine(std::size_t level, const MatchPicture& before, const MatchPicture& now,
                             RigidMove move) const {
  const Size& size = sizes_[level];
  const auto& old = before.levels[level].detail;
  double spread = 1e9;  // of what is left over: what is far from it has moved by itself
  for (int step = 0; step < kMostSteps; ++step) {
    const double turn = radians(move.turn_deg);
    const double c = std::cos(turn);
    const double s = std::sin(turn);
    double both = 0;
    double square = 0;
    over(now.levels[level], move, size.scale, [&](std::size_t i, double, double, double value) {
      both += static_cast<double>(size.weights[i] * old[i]) * value;
      square += static_cast<double>(size.weights[i] * old[i] * old[i]);
    });
    const double gain = square > 0 ? std::clamp(both / square, 0.3, 3.0) : 1;
    std::array<double, 6> m{};
    std::array<double, 3> r{};
    double left_over = 0;
    double count = 0;
    over(now.levels[level], move, size.scale, [&](std::size_t i, double u, double v, double value) {
      const double off = value - gain * static_cast<double>(old[i]);
      const double ratio = off / spread;
      const double weight = static_cast<double>(size.weights[i]) / (1 + ratio * ratio);
      left_over += static_cast<double>(size.weights[i]) * std::min(std::abs(off), 3 * spread);
      count += static_cast<double>(size.weights[i]);
      const double gx = 0.5 * gain * static_cast<double>(old[i + 1] - old[i - 1]);
      const auto row = static_cast<std::size_t>(size.width);
      const double gy = 0.5 * gain * static_cast<double>(old[i + row] - old[i - row]);
      const double x = c * gx - s * gy;
      const double y = s * gx + c * gy;
      const double t = x * (-s * u - c * v) + y * (c * u - s * v);
      m[0] += weight * x * x;
      m[1] += weight * x * y;
      m[2] += weight * x * t;
      m[3] += weight * y * y;
      m[4] += weight * y * t;
      m[5] += weight * t * t;
      r[0] -= weight * x * off;
      r[1] -= weight * y * off;
      r[2] -= weight * t * off;
    });
    if (count <= 0) return move;
    const auto [dx, dy, dt] = solved(m, r);
    move.dx_px += dx * size.scale;
    move.dy_px += dy * size.scale;
    move.turn_deg += dt * 180 / std::numbers::pi;
    spread = std::max(0.5, 2 * left_over / count);
    const double moved_px = std::hypot(dx, dy) + std::abs(dt) * size.width / 2;
    if (step > 1 && moved_px < kStill_px) break;
  }
  return move;
}

double RigidMatch::likeness_at(std::size_t level, const MatchPicture& before, const MatchPicture& now,
                               const RigidMove& move) const {
  const Size& size = sizes_[level];
  const auto& old = before.levels[level].detail;
  double both = 0;
  double squares_before = 0;
  double squares_now = 0;
  over(now.levels[level], move, size.scale, [&](std::size_t i, double, double, double value) {
    const auto weight = static_cast<double>(size.weights[i]);
    both += weight * static_cast<double>(old[i]) * value;
    squares_before += weight * static_cast<double>(old[i] * old[i]);
    squares_now += weight * value * value;
  });
  const double all = std::sqrt(squares_before * squares_now);
  return all > 0 ? both / all : 0;
}

double RigidMatch::likeness(const MatchPicture& before, const MatchPicture& now,
                            const RigidMove& move) const {
  return likeness_at(sizes_.size() - 1, before, now, move);
}

RigidMove RigidMatch::match(const MatchPicture& before, const MatchPicture& now,
                            const RigidMove& start) const {
  RigidMove move = start;
  for (std::size_t level = 0; level < sizes_.size(); ++level) {
    const RigidMove refined = refine(level, before, now, move);
    // Where it has run away it was no beginning.
    if (likeness_at(level, before, now, refined) >= likeness_at(level, before, now, move)) move = refined;
  }
  return move;
}

RigidMove RigidMatch::search(const MatchPicture& before, const MatchPicture& now, const RigidMove& start,
                             double most_deg) const {
  RigidMove best = start;
  double most = -1;
  const int to_a_side = static_cast<int>(std::ceil(most_deg / kSearchStep_deg));
  for (int i = -to_a_side; i <= to_a_side; ++i) {
    RigidMove move = start;
    move.turn_deg += i * kSearchStep_deg;
    move = refine(0, before, now, move);
    const double like = likeness_at(0, before, now, move);
    if (like <= most) continue;
    most = like;
    best = move;
  }
  return match(before, now, best);
}

}  // namespace rookery::vision
