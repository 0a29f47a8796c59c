#include "bench/lapse/job_light.h"

#include <algorithm>
#include <cmath>

#include "sim/vec.h"

namespace rookery::bench {
namespace {

constexpr double kLampPeriod = 1'800;

double part(double s, double period) { return s / period - std::floor(s / period); }
double unrest(double s, double every, std::uint32_t seed) {
  return 2 * static_cast<double>(sim::noise1(static_cast<float>(s / every), seed)) - 1;
}
double exposure(double s) {
  return 1 + 0.10 * std::sin(s / 95) + 0.04 * (std::floor(3 * part(s, 270)) - 1) + 0.06 * unrest(s, 7, 3);
}

}  // namespace

std::string_view name_of(Light light) {
  constexpr std::string_view kNames[] = {"steady", "exposure", "lamp", "bands"};
  return kNames[static_cast<std::size_t>(light)];
}

LightNow::LightNow(Light light, double s)
    : light_(light), s_(s), exposure_(light == Light::steady ? 1 : exposure(s)) {}

double LightNow::at(double u, double v) const {
  if (light_ == Light::lamp && part(s_, kLampPeriod) > 0.75) return exposure_ * (0.35 + 0.25 * (u + v) / 2);
  if (light_ == Light::bands) return exposure_ * (1 + 0.06 * std::sin(6.2831853 * (3.2 * v - 0.7 * s_)));
  return exposure_;
}

void apply_light(sim::Picture& picture, Light light, double s) {
  if (light == Light::steady) return;
  const int width = picture.size.width;
  const int height = picture.size.height;
  const LightNow now(light, s);
  const double blue = 4 * unrest(s, 11, 5);
  const double red = -3 * unrest(s, 13, 7);
  constexpr int kBlock = 8;
  for (int y = 0; y < height; ++y) {
    for (int from = 0; from < width; from += kBlock) {
      const double factor =
          now.at(static_cast<double>(from + kBlock / 2) / width, static_cast<double>(y) / height);
      for (int x = from; x < std::min(width, from + kBlock); ++x) {
        std::uint8_t& luma = picture.y[static_cast<std::size_t>(y * width + x)];
        luma = static_cast<std::uint8_t>(std::clamp(std::round(luma * factor), 0.0, 255.0));
        if (x % 2 != 0) continue;
        const auto colour = [&](std::uint8_t& value, double shift) {
          value = static_cast<std::uint8_t>(
              std::clamp(std::round(128 + (value - 128) * factor + shift), 0.0, 255.0));
        };
        const auto half = static_cast<std::size_t>(y * picture.half() + x / 2);
        colour(picture.u[half], blue);
        colour(picture.v[half], red);
      }
    }
  }
}

}  // namespace rookery::bench
