// Is the log of events quick when it is long? The workload: 1 000 000 events of 20 cameras over two years,
// one in ten thousand kept, one in a thousand a view, strength falling off as in practice.
#include <SQLiteCpp/SQLiteCpp.h>
#include <benchmark/benchmark.h>
#include <stdlib.h>

#include <cstdlib>
#include <random>

#include "archive/event_store.h"

namespace {

using namespace rookery;
using namespace std::chrono_literals;
using archive::Catalog;
using archive::Event;
using archive::EventQuery;

// The smoke run among the tests makes a short log.
const int kEvents = std::getenv("ROOKERY_BENCH_SMALL") != nullptr ? 20'000 : 1'000'000;
constexpr int kCameras = 20;
const base::WallTime kStart = base::parse_rfc3339("2024-03-01T00:00:00Z").value();

base::CameraName camera(int number) {
  return base::CameraName::parse(fmt::format("bench-{}", number)).value();
}

// A home with a long log, made once and removed at exit.
struct LongLog {
  std::filesystem::path path;
  LongLog() {
    std::string name = (std::filesystem::temp_directory_path() / "rookery-bench-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    path = name;
    auto catalog = Catalog::open(path).value();
    archive::EventStore store(*catalog);
    std::mt19937 random(1);
    std::exponential_distribution<double> strength(40);
    for (int i = 1; i <= kEvents; ++i) {
      Event event(camera(static_cast<int>(random() % kCameras)));
      event.id = i;
      event.cause = i % 1000 == 0 ? Event::Cause::view : Event::Cause::motion;
      event.start = kStart + i * 63s;
      event.end = event.start + std::chrono::seconds(random() % 40);
      event.best_at = event.start;
      event.peak = std::min(1.0, strength(random));
      event.region = {0.25, 0.25, 0.5, 0.5};
      store.put_later(event);
      // The queue holds 100 000.
      if (i % 50'000 == 0 && !catalog->flush()) std::abort();
    }
    const auto kept = catalog->write([](SQLite::Database& db) -> base::Result<void> {
      db.exec("UPDATE event SET kept = 1 WHERE id % 10000 = 0");
      return base::ok();
    });
    if (!kept) std::abort();
  }
  ~LongLog() { std::filesystem::remove_all(path); }
};

const std::filesystem::path& long_log() {
  static const LongLog log;
  return log.path;
}

void ask(benchmark::State& state, const EventQuery& query) {
  auto catalog = Catalog::open(long_log()).value();
  const archive::EventStore store(*catalog);
  std::size_t found = 0;
  for (auto _ : state) found = store.page(query).value().events.size();
  state.counters["found"] = static_cast<double>(found);
}

void newest_50(benchmark::State& state) { ask(state, {}); }
BENCHMARK(newest_50)->Unit(benchmark::kMillisecond);

void newest_50_of_one_camera(benchmark::State& state) { ask(state, {.cameras = {{camera(7)}}}); }
BENCHMARK(newest_50_of_one_camera)->Unit(benchmark::kMillisecond);

void newest_50_of_all_cameras_by_name(benchmark::State& state) {
  EventQuery query;
  query.cameras.emplace();
  for (int i = 0; i < kCameras; ++i) query.cameras->push_back(camera(i));
  ask(state, query);
}
BENCHMARK(newest_50_of_all_cameras_by_name)->Unit(benchmark::kMillisecond);

void in_the_middle(benchmark::State& state) {
  ask(state, {.from = kStart + 350 * 24h, .to = kStart + 351 * 24h});
}
BENCHMARK(in_the_middle)->Unit(benchmark::kMillisecond);

void views_which_are_rare(benchmark::State& state) { ask(state, {.causes = {Event::Cause::view}}); }
BENCHMARK(views_which_are_rare)->Unit(benchmark::kMillisecond);

void strong_ones_which_are_rarer(benchmark::State& state) { ask(state, {.least_peak = 0.3}); }
BENCHMARK(strong_ones_which_are_rarer)->Unit(benchmark::kMillisecond);

void kept_ones_which_are_rarest(benchmark::State& state) { ask(state, {.kept = true}); }
BENCHMARK(kept_ones_which_are_rarest)->Unit(benchmark::kMillisecond);

void none_at_all(benchmark::State& state) {
  ask(state, {.causes = {Event::Cause::lighting}, .least_peak = 0.9});
}
BENCHMARK(none_at_all)->Unit(benchmark::kMillisecond);

void trim_looks(benchmark::State& state) {
  auto catalog = Catalog::open(long_log()).value();
  archive::EventStore store(*catalog);
  for (auto _ : state) benchmark::DoNotOptimize(store.trim().value());
}
BENCHMARK(trim_looks)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
