// What does a lapse cost a picture? Choosing: an hour's thumbnails of 40×30 cells, one a second, a minute
// between two frames, so that a window holds 49 pictures; and as many as a window may hold. Levelling and
// steadying: frames of 640×480, 4:2:2. Noise and a moving square; what is in a picture hardly changes the
// work.
#include <benchmark/benchmark.h>

#include <random>

#include "vision/lapse_choice.h"
#include "vision/lapse_levels.h"
#include "vision/lapse_steady.h"

namespace rookery::vision {
namespace {

std::vector<std::uint8_t> noise_of(std::size_t count, unsigned seed) {
  std::mt19937 random(seed);
  std::vector<std::uint8_t> out;
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(static_cast<std::uint8_t>(60 + i / 7 % 90 + random() % 8));
  return out;
}

void choose(benchmark::State& state) {
  const double every_s = static_cast<double>(state.range(0));
  constexpr int kSlots = 60;
  const int pictures = static_cast<int>(every_s) * kSlots;
  std::vector<std::vector<std::uint8_t>> thumbnails;
  for (unsigned i = 0; i < 61; ++i) thumbnails.push_back(noise_of(40 * 30, i));
  std::size_t most = 0;
  for (auto _ : state) {
    LapseOptions options;
    options.slots = {0, every_s, kSlots};
    auto chooser = LapseChooser::make(options);
    for (int s = 0; s < pictures; ++s) {
      if (!chooser->add(
              {.at_s = static_cast<double>(s), .cells = thumbnails[static_cast<std::size_t>(s % 61)]}))
        state.SkipWithError("a picture was refused");
      most = std::max(most, chooser->bytes());
    }
    auto choice = chooser->finish();
    benchmark::DoNotOptimize(choice);
  }
  state.counters["a_frame"] =
      benchmark::Counter(kSlots, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
  state.counters["MB"] = static_cast<double>(most) * 1e-6;
}
BENCHMARK(choose)->Arg(60)->Arg(300)->Unit(benchmark::kMillisecond);

struct Film {
  std::vector<std::uint8_t> luma = noise_of(640 * 480, 1);
  std::vector<std::uint8_t> blue = noise_of(320 * 480, 2);
  std::vector<std::uint8_t> red = noise_of(320 * 480, 3);
  PictureView view() {
    return {.luma = {luma.data(), 640, 480, 640},
            .blue = {blue.data(), 320, 480, 320},
            .red = {red.data(), 320, 480, 320}};
  }
};

void sample(benchmark::State& state) {
  Film film;
  for (auto _ : state) {
    auto sampled = sample_levels(film.view());
    benchmark::DoNotOptimize(sampled);
  }
}
BENCHMARK(sample)->Unit(benchmark::kMicrosecond);

void plan(benchmark::State& state) {
  Film film;
  std::vector<LevelSample> samples(100, sample_levels(film.view()).value());
  std::mt19937 random(1);
  for (LevelSample& one : samples) {
    const float gain = 0.9F + 0.2F * static_cast<float>(random() % 100) / 100;
    for (float& cell : one.cells) cell *= gain;
  }
  for (auto _ : state) {
    auto planned = plan_levels(samples);
    benchmark::DoNotOptimize(planned);
  }
  state.counters["a_frame"] =
      benchmark::Counter(100, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}
BENCHMARK(plan)->Unit(benchmark::kMillisecond);

void apply(benchmark::State& state) {
  Film film;
  LevelCorrection correction;
  correction.gain = 1.05;
  correction.blue_shift = 1;
  correction.red_shift = -1;
  if (state.range(0) != 0) correction.rows.assign(120, 1.01F);
  for (auto _ : state) {
    apply_levels(correction, film.view());
    benchmark::DoNotOptimize(film.luma.data());
  }
}
BENCHMARK(apply)->Arg(0)->Arg(1)->Unit(benchmark::kMicrosecond);

void steady(benchmark::State& state) {
  std::vector<jpeg::LumaPlane> planes(5);
  for (std::size_t i = 0; i < planes.size(); ++i)
    planes[i] = {.width_px = 640, .height_px = 480, .pixels = noise_of(640 * 480, static_cast<unsigned>(i))};
  auto steadier = Steadier::make(640, 480, {}, 0, 0);
  std::size_t next = 0;
  for (auto _ : state) {
    if (!steadier->add(planes[next++ % planes.size()], 0)) state.SkipWithError("a frame was refused");
  }
}
BENCHMARK(steady)->Unit(benchmark::kMillisecond);

void shift(benchmark::State& state) {
  Film film;
  std::vector<std::uint8_t> to(film.luma.size());
  for (auto _ : state) {
    shift_plane(film.view().luma, 1.3, -0.6, {to.data(), 640, 480, 640});
    benchmark::DoNotOptimize(to.data());
  }
}
BENCHMARK(shift)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace rookery::vision

BENCHMARK_MAIN();
