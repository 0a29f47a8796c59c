// Question: what does the make-believe workshop cost? Eight boards at 640×480 and 10 frames a second are to
// take at most 40 % of one core, JPEG included: 5 ms a frame. Each scene is drawn and encoded a tenth of a
// second apart, as a board does (eighty frames a second in all, so CPU ms a frame × 8 is the share of a core
// in per cent).
#include <benchmark/benchmark.h>

#include <memory>
#include <optional>

#include "sim/scene_source.h"

namespace {

using namespace rookery;  // NOLINT(google-build-using-namespace)

// Painting a scene's backdrop costs more than a hundred frames; it is done once, however often the benchmark
// tries how many frames fill its time.
void frames_of(benchmark::State& state, std::string_view name, std::optional<sim::SceneSource>& kept) {
  if (!kept) {
    auto made = sim::make_scene(name, 1);
    if (!made) {
      state.SkipWithError(made.error().text().c_str());
      return;
    }
    kept.emplace(std::move(*made));
  }
  sim::SceneSource& source = *kept;
  sim::FrameRequest request;
  request.wall = base::WallTime(std::chrono::seconds(1'772'366'400));
  std::size_t bytes = 0;
  for (auto _ : state) {
    request.wall += std::chrono::milliseconds(100);
    request.since_boot += std::chrono::milliseconds(100);
    bytes += source.next(request)->size();
  }
  const auto frames = static_cast<double>(state.iterations());
  state.counters["bytes_a_frame"] = static_cast<double>(bytes) / frames;
}

}  // namespace

int main(int count, char** words) {
  for (const std::string_view name : sim::scene_names()) {
    const auto kept = std::make_shared<std::optional<sim::SceneSource>>();
    benchmark::RegisterBenchmark(std::string(name).c_str(), [name, kept](benchmark::State& state) {
      frames_of(state, name, *kept);
    })->Unit(benchmark::kMillisecond);
  }
  benchmark::Initialize(&count, words);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
