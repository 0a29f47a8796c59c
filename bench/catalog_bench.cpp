// Does the catalog stay quick when it is large, and what does motion energy cost? The workload: 20 cameras
// that recorded for five weeks in segments of ten minutes (100 000 segments), strips of one day, 80×60 cells
// (640×480 px).
#include <SQLiteCpp/SQLiteCpp.h>
#include <benchmark/benchmark.h>
#include <stdlib.h>

#include <random>

#include "archive/catalog.h"
#include "archive/segment_store.h"
#include "archive/strip_store.h"
#include "vision/motion_energy.h"

namespace {

using namespace rookery;
using namespace std::chrono_literals;
using archive::Catalog;

const base::WallTime kStart = base::parse_rfc3339("2026-03-01T00:00:00Z").value();
constexpr int kCameras = 20;
constexpr int kSegments = 5000;  // each

base::CameraName camera(int number) {
  return base::CameraName::parse(fmt::format("bench-{}", number)).value();
}

// A home with a large catalog, made once and removed at exit.
struct LargeHome {
  std::filesystem::path path;
  LargeHome() {
    std::string name = (std::filesystem::temp_directory_path() / "rookery-bench-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    path = name;
    auto catalog = Catalog::open(path).value();
    const auto filled = catalog->write([](SQLite::Database& db) -> base::Result<void> {
      for (int i = 0; i < kSegments; ++i) {
        for (int number = 0; number < kCameras; ++number) {
          archive::Segment segment(camera(number));
          segment.start = kStart + i * 10min;
          segment.end = segment.start + 599s;
          segment.path = fmt::format("{}/{}.mkv", segment.camera.text(), i);
          segment.bytes = 100'000'000;
          archive::SegmentStore::insert(db, segment);
        }
      }
      const archive::Strip strip{kStart,
                                 std::vector<archive::StripStep>(8640 * 35, {9, archive::Health::live})};
      for (int number = 0; number < kCameras; ++number) archive::StripStore::put(db, camera(number), strip);
      return base::ok();
    });
    if (!filled) std::abort();
  }
  ~LargeHome() { std::filesystem::remove_all(path); }
};

const std::filesystem::path& large_home() {
  static const LargeHome home;
  return home.path;
}

void open_with_100000_segments(benchmark::State& state) {
  const auto& home = large_home();
  for (auto _ : state) benchmark::DoNotOptimize(Catalog::open(home).value());
}
BENCHMARK(open_with_100000_segments)->Unit(benchmark::kMillisecond);

void strip_of_a_day(benchmark::State& state) {
  auto catalog = Catalog::open(large_home()).value();
  const archive::StripStore store(*catalog);
  for (auto _ : state) {
    benchmark::DoNotOptimize(store.between(camera(7), kStart + 20 * 24h, kStart + 21 * 24h).value());
  }
}
BENCHMARK(strip_of_a_day)->Unit(benchmark::kMicrosecond);

void spans_of_a_day(benchmark::State& state) {
  auto catalog = Catalog::open(large_home()).value();
  const archive::SegmentStore store(*catalog);
  for (auto _ : state) {
    benchmark::DoNotOptimize(store.spans(camera(7), kStart + 20 * 24h, kStart + 21 * 24h, 2s).value());
  }
}
BENCHMARK(spans_of_a_day)->Unit(benchmark::kMicrosecond);

void oldest_100_of_all(benchmark::State& state) {
  auto catalog = Catalog::open(large_home()).value();
  const archive::SegmentStore store(*catalog);
  for (auto _ : state) benchmark::DoNotOptimize(store.oldest_unkept(100).value());
}
BENCHMARK(oldest_100_of_all)->Unit(benchmark::kMicrosecond);

void bytes_and_count(benchmark::State& state) {
  auto catalog = Catalog::open(large_home()).value();
  const archive::SegmentStore store(*catalog);
  for (auto _ : state) {
    benchmark::DoNotOptimize(store.bytes_of(camera(7)).value());
    benchmark::DoNotOptimize(store.count().value());
  }
}
BENCHMARK(bytes_and_count)->Unit(benchmark::kMicrosecond);

void settings_version(benchmark::State& state) {
  auto catalog = Catalog::open(large_home()).value();
  for (auto _ : state) benchmark::DoNotOptimize(catalog->settings_version());
}
BENCHMARK(settings_version)->Unit(benchmark::kMicrosecond);

// What a hundred cameras ask in a second: each grows its segment, ten put a step.
void a_second_of_100_cameras(benchmark::State& state) {
  auto catalog = Catalog::open(large_home()).value();
  archive::SegmentStore segments(*catalog);
  archive::StripStore strips(*catalog);
  auto all = segments.oldest_unkept(100).value();
  std::uint64_t second = 0;
  for (auto _ : state) {
    ++second;
    for (archive::Segment& segment : all) {
      segment.bytes = 100'000'000 + second;
      segments.note_later(segment);
    }
    for (int i = 0; i < 10; ++i) {
      strips.put_later(camera(i), kStart + std::chrono::seconds(10 * second), {1, archive::Health::live});
    }
    catalog->flush();
  }
}
BENCHMARK(a_second_of_100_cameras)->Unit(benchmark::kMillisecond);

void motion_energy_80x60(benchmark::State& state) {
  std::mt19937 random(1);
  std::normal_distribution<double> noise(0, 2);
  std::vector<jpeg::LumaGrid> grids(16);
  for (jpeg::LumaGrid& grid : grids) {
    grid.width = 80;
    grid.height = 60;
    for (int i = 0; i < 4800; ++i) {
      grid.cells.push_back(
          static_cast<std::uint8_t>(std::clamp(60 + (i % 80) * 1.5 + noise(random), 0.0, 255.0)));
    }
  }
  vision::MotionEnergy energy;
  std::size_t next = 0;
  for (auto _ : state) benchmark::DoNotOptimize(energy.add(grids[next++ % grids.size()]));
}
BENCHMARK(motion_energy_80x60)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
