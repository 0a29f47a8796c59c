#include "sim/picture_faults.h"

#include <cmath>
#include <cstring>

namespace rookery::sim {
namespace {

constexpr std::size_t kNoiseSize = 1 << 16;

// Gaussian noise of deviation 16, made once.
const std::vector<std::int8_t>& noise_table() {
  static const std::vector<std::int8_t> kTable = [] {
    std::vector<std::int8_t> table(kNoiseSize);
    for (std::uint32_t i = 0; i < kNoiseSize; ++i) {
      // Sum of twelve uniforms: mean 6, deviation 1.
      float sum = -6;
      for (std::uint32_t k = 0; k < 12; ++k) sum += hash01(i, k + 500);
      table[i] = static_cast<std::int8_t>(std::clamp(sum * 16, -60.0F, 60.0F));
    }
    return table;
  }();
  return kTable;
}

void shift_plane(std::vector<std::uint8_t>& plane, int width, int height, int dx, int dy) {
  const std::vector<std::uint8_t> old = plane;
  for (int y = 0; y < height; ++y) {
    const int sy = std::clamp(y + dy, 0, height - 1);
    for (int x = 0; x < width; ++x)
      plane[static_cast<std::size_t>(y * width + x)] =
          old[static_cast<std::size_t>(sy * width + std::clamp(x + dx, 0, width - 1))];
  }
}

// One box blur along lines of `count` samples.
void blur_lines(const std::vector<std::uint8_t>& from, std::vector<std::uint8_t>& to, int count, int step,
                int lines, int stride, int radius) {
  for (int l = 0; l < lines; ++l) {
    const int base = l * stride;
    int sum = from[static_cast<std::size_t>(base)] * radius;
    for (int i = 0; i < radius; ++i)
      sum += from[static_cast<std::size_t>(base + std::min(i, count - 1) * step)];
    for (int i = 0; i < count; ++i) {
      sum += from[static_cast<std::size_t>(base + std::min(i + radius, count - 1) * step)];
      to[static_cast<std::size_t>(base + i * step)] = static_cast<std::uint8_t>(sum / (2 * radius + 1));
      sum -= from[static_cast<std::size_t>(base + std::max(i - radius, 0) * step)];
    }
  }
}

void blur_plane(std::vector<std::uint8_t>& plane, int width, int height, int radius) {
  if (radius < 1) return;
  std::vector<std::uint8_t> other(plane.size());
  for (int pass = 0; pass < 2; ++pass) {
    blur_lines(plane, other, width, 1, height, width, radius);
    blur_lines(other, plane, height, width, width, 1, radius);
  }
}

void scale_luma(Picture& p, float gain) {
  const int weight = static_cast<int>(gain * 256);
  for (std::uint8_t& luma : p.y) luma = static_cast<std::uint8_t>(std::min(255, (luma * weight) >> 8));
}

void scale_colour(std::vector<std::uint8_t>& plane, float gain, int towards) {
  const int weight = static_cast<int>(gain * 256);
  for (std::uint8_t& c : plane) c = static_cast<std::uint8_t>(towards + (((c - towards) * weight) >> 8));
}

}  // namespace

void blur(Picture& p, double strength) {
  const int radius = std::max(1, static_cast<int>(std::lround(strength * p.size.width / 640.0)));
  blur_plane(p.y, p.size.width, p.size.height, radius);
  blur_plane(p.u, p.half(), p.size.height, radius / 2);
  blur_plane(p.v, p.half(), p.size.height, radius / 2);
}

void apply_optics(Picture& p, const ActiveFaults& faults, SceneTime t) {
  const double ratio = p.size.width / 640.0;
  if (faults.has(Fault::knocked)) {
    const int dx = static_cast<int>(faults.strength(Fault::knocked) * ratio) & ~1;
    const int dy = dx / 2;
    shift_plane(p.y, p.size.width, p.size.height, dx, dy);
    shift_plane(p.u, p.half(), p.size.height, dx / 2, dy);
    shift_plane(p.v, p.half(), p.size.height, dx / 2, dy);
  }
  if (faults.has(Fault::blur)) blur(p, faults.strength(Fault::blur));
  if (faults.has(Fault::supply_sag)) {
    const auto depth = static_cast<float>(std::clamp(faults.strength(Fault::supply_sag), 0.0, 1.0));
    const float flutter = 0.06F * noise1((static_cast<float>(static_cast<double>(t.count()) * 1e-6)) * 9, 3);
    scale_luma(p, 1 - depth * (0.72F + flutter));
    scale_colour(p.u, 1 - depth * 0.4F, 128);
    scale_colour(p.v, 1 - depth * 0.4F, 128);
  }
  if (faults.has(Fault::mains_bands)) {
    const auto depth = static_cast<float>(faults.strength(Fault::mains_bands));
    for (int y = 0; y < p.size.height; ++y) {
      // About 6.4 bands a picture (50 Hz mains at 15 pictures a second), rolling slowly.
      const float phase = static_cast<float>(y) / static_cast<float>(p.size.height) * 6.41F -
                          (static_cast<float>(static_cast<double>(t.count()) * 1e-6)) * 0.7F;
      const int weight = static_cast<int>(256 * (1 + depth * std::sin(phase * 6.2831853F)));
      std::uint8_t* const line = &p.y[static_cast<std::size_t>(y * p.size.width)];
      for (int x = 0; x < p.size.width; ++x)
        line[x] = static_cast<std::uint8_t>(std::min(255, (line[x] * weight) >> 8));
    }
  }
}

void apply_settling(Picture& p, base::Microseconds since_boot) {
  if (since_boot > kSettling) return;
  const float s = static_cast<float>(since_boot.count()) * 1e-6F;
  const bool first = s < 0.22F;
  scale_luma(p, first ? 0.2F : 1 - 0.75F * std::exp(-s / 0.9F));
  const float colour = first ? 0.2F : 1 - 0.7F * std::exp(-s / 0.8F);
  scale_colour(p.u, colour, 104);
  scale_colour(p.v, colour, 96);
}

void add_noise(Picture& p, float deviation, std::uint32_t salt) {
  const std::vector<std::int8_t>& table = noise_table();
  const int weight = std::clamp(static_cast<int>(deviation * 16), 0, 4000);
  const auto width = static_cast<std::size_t>(p.size.width);
  for (int y = 0; y < p.size.height; ++y) {
    const std::size_t from = hash32(salt, static_cast<std::uint32_t>(y)) % (kNoiseSize - 4096);
    const std::int8_t* const noise = &table[from];
    std::uint8_t* const line = &p.y[static_cast<std::size_t>(y) * width];
    for (std::size_t x = 0; x < width; ++x) {
      const int value = line[x] + ((noise[x] * weight) >> 8);
      line[x] = static_cast<std::uint8_t>(std::clamp(value, 0, 255));
    }
  }
}

void apply_green_band(Picture& p, double part) {
  const int from = static_cast<int>(p.size.height * (1 - std::clamp(part, 0.0, 1.0)));
  // Zero in all three planes is what an unfilled buffer holds; it decodes to a strong green.
  std::fill(p.y.begin() + from * p.size.width, p.y.end(), std::uint8_t{0});
  std::fill(p.u.begin() + from * p.half(), p.u.end(), std::uint8_t{0});
  std::fill(p.v.begin() + from * p.half(), p.v.end(), std::uint8_t{0});
}

Picture halved(const Picture& p) {
  const Size size{p.size.width / 4 * 2, p.size.height / 4 * 2};
  Picture small(size);
  const auto plane = [&](const std::vector<std::uint8_t>& from, int from_width, std::vector<std::uint8_t>& to,
                         int to_width) {
    for (int y = 0; y < size.height; ++y) {
      for (int x = 0; x < to_width; ++x) {
        const auto i = static_cast<std::size_t>(2 * y * from_width + 2 * x);
        const auto w = static_cast<std::size_t>(from_width);
        to[static_cast<std::size_t>(y * to_width + x)] =
            static_cast<std::uint8_t>((from[i] + from[i + 1] + from[i + w] + from[i + w + 1] + 2) / 4);
      }
    }
  };
  plane(p.y, p.size.width, small.y, size.width);
  plane(p.u, p.half(), small.u, small.half());
  plane(p.v, p.half(), small.v, small.half());
  return small;
}

namespace {

// Each sample becomes four: three quarters of the nearer and one of the farther neighbour in both directions.
void double_plane(std::vector<std::uint8_t>& out, const std::vector<std::uint8_t>& in, int width,
                  int height) {
  const auto line_of = [&](int y) {
    return &in[static_cast<std::size_t>(std::clamp(y, 0, height - 1) * width)];
  };
  for (int y = 0; y < 2 * height; ++y) {
    const std::uint8_t* const near = line_of(y / 2);
    const std::uint8_t* const far = line_of((y & 1) != 0 ? y / 2 + 1 : y / 2 - 1);
    std::uint8_t* const to = &out[static_cast<std::size_t>(y) * 2 * static_cast<std::size_t>(width)];
    int before = 3 * near[0] + far[0];
    for (int x = 0; x < width; ++x) {
      const int here = 3 * near[x] + far[x];
      const int next = x + 1 < width ? 3 * near[x + 1] + far[x + 1] : here;
      to[2 * x] = static_cast<std::uint8_t>((3 * here + before + 8) >> 4);
      to[2 * x + 1] = static_cast<std::uint8_t>((3 * here + next + 8) >> 4);
      before = here;
    }
  }
}

}  // namespace

void double_into(Picture& large, const Picture& small) {
  double_plane(large.y, small.y, small.size.width, small.size.height);
  double_plane(large.u, small.u, small.half(), small.size.height);
  double_plane(large.v, small.v, small.half(), small.size.height);
}

}  // namespace rookery::sim
