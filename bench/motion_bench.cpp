// Question: what does deciding whether something moves cost, once there is a luma grid? 80×60 cells, a view
// with noise in which something the size of a person walks to and fro, and one in which nothing does.
#include <benchmark/benchmark.h>

#include <cmath>
#include <random>

#include "vision/motion_detector.h"
#include "vision/motion_energy.h"
#include "vision/motion_events.h"

namespace {

using namespace rookery;  // NOLINT(google-build-using-namespace)

constexpr int kWidth = 80;
constexpr int kHeight = 60;

std::vector<jpeg::LumaGrid> view(bool walker) {
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0, 0.6);
  std::uniform_real_distribution<double> rough(-20, 20);
  std::vector<double> ground;
  for (int i = 0; i < kWidth * kHeight; ++i)
    ground.push_back(110 + 30 * std::sin(i % kWidth / 5.0) * std::cos(i / kWidth / 7.0) + rough(random));
  std::vector<jpeg::LumaGrid> grids(64);
  for (std::size_t step = 0; step < grids.size(); ++step) {
    grids[step].width = kWidth;
    grids[step].height = kHeight;
    const int at = 36 + static_cast<int>(30 * std::sin(static_cast<double>(step) * 2 * 3.14159265 / 64));
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        const bool covered = walker && x >= at && x < at + 8 && y >= 25 && y < 50;
        const double value =
            covered ? 50 + 30 * ((x + y) % 3) : ground[static_cast<std::size_t>(y * kWidth + x)];
        grids[step].cells.push_back(static_cast<std::uint8_t>(std::clamp(value + noise(random), 0.0, 255.0)));
      }
    }
  }
  return grids;
}

void detect(benchmark::State& state, bool walker) {
  const auto grids = view(walker);
  vision::MotionDetector detector;
  vision::MotionEvents events;
  base::Microseconds at{0};
  std::size_t next = 0;
  for (auto _ : state) {
    at += std::chrono::milliseconds(200);
    benchmark::DoNotOptimize(events.add(detector.add(grids[next], at), kWidth, kHeight));
    next = (next + 1) % grids.size();
  }
}

void energy_alone(benchmark::State& state) {
  const auto grids = view(true);
  vision::MotionEnergy energy;
  std::size_t next = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(energy.add(grids[next]));
    next = (next + 1) % grids.size();
  }
}

}  // namespace

BENCHMARK_CAPTURE(detect, still, false)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(detect, walker, true)->Unit(benchmark::kMicrosecond);
BENCHMARK(energy_alone)->Unit(benchmark::kMicrosecond);

BENCHMARK_MAIN();
