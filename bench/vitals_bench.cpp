// What do vitals cost? 300 cameras (300 × 640×480 at 10/s is the fleet of the other benchmarks): reading them
// every ten seconds, storing a minute, packing a day that is over, and asking for a span of one camera.
// Target: vitals and ranking of 300 cameras together at most 5 % of a core.
#include <benchmark/benchmark.h>
#include <stdlib.h>

#include <cstdlib>
#include <random>

#include <boost/asio.hpp>

#include "archive/vitals_codes.h"
#include "archive/vitals_store.h"
#include "net/tcp_vitals.h"

namespace {

using namespace rookery;
namespace asio = boost::asio;
using namespace std::chrono_literals;
using archive::Catalog;
using archive::VitalsStore;
using camera::Vitals;

// The smoke run among the tests is short.
const bool kSmall = std::getenv("ROOKERY_BENCH_SMALL") != nullptr;
const int kCameras = kSmall ? 10 : 300;
const base::WallTime kMidnight = base::parse_rfc3339("2026-03-01T00:00:00Z").value();

base::CameraName name_of(int number) {
  return base::CameraName::parse(fmt::format("bench-{}", number)).value();
}

Vitals some(std::mt19937& random) {
  const auto wander = [&](double about) {
    return about * (0.9 + 0.2 * std::generate_canonical<double, 20>(random));
  };
  return {.live = 1,
          .frames_per_s = wander(10),
          .bytes_a_frame = wander(25e3),
          .longest_gap_s = wander(0.2),
          .jitter_s = wander(0.008),
          .broken = static_cast<double>(random() % 10 == 0),
          .connects = 0,
          .dropouts = 0,
          .light = wander(120)};
}

// A home of its own, removed at the end.
class TempHome {
 public:
  TempHome() {
    std::string name = (std::filesystem::temp_directory_path() / "rookery-bench-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    path_ = name;
  }
  ~TempHome() { std::filesystem::remove_all(path_); }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

VitalsStore::Minutes a_minute(std::mt19937& random) {
  VitalsStore::Minutes minutes;
  for (int i = 0; i < kCameras; ++i) minutes.emplace_back(name_of(i), some(random));
  return minutes;
}

// One reading of all: pure part, without the locks of the pulls.
void read_all(benchmark::State& state) {
  std::vector<camera::VitalsBook> books(static_cast<std::size_t>(kCameras));
  std::vector<camera::Arrivals> arrivals(books.size());
  camera::VitalsBook::Reading reading{
      .state = camera::State::live, .counters = {}, .arrivals = {}, .light = 120};
  base::WallTime now = kMidnight;
  base::MonoTime mono{1h};
  for (auto _ : state) {
    now += 10s;
    mono += 10s;
    reading.counters.published += 100;
    for (std::size_t i = 0; i < books.size(); ++i) {
      reading.arrivals = arrivals[i].take(mono);
      benchmark::DoNotOptimize(books[i].read(reading, now, 10s));
    }
  }
}
BENCHMARK(read_all);

// What each picture costs: 3000 a second with 300 cameras.
void arrival(benchmark::State& state) {
  camera::Arrivals arrivals;
  base::MonoTime mono{1h};
  for (auto _ : state) {
    mono += 100ms;
    arrivals.picture(mono);
  }
}
BENCHMARK(arrival);

// One minute of all cameras to the catalog, committed.
void store_minute(benchmark::State& state) {
  const TempHome home;
  auto catalog = Catalog::open(home.path()).value();
  VitalsStore store(*catalog);
  std::mt19937 random(1);
  base::WallTime at = kMidnight;
  for (auto _ : state) {
    store.put_later(at, a_minute(random));
    if (!catalog->flush()) state.SkipWithError("the catalog cannot be written");
    at += 1min;
  }
}
BENCHMARK(store_minute)->UseRealTime()->MeasureProcessCPUTime();

// A whole day of all cameras is packed: once a day.
void pack_day_of_all(benchmark::State& state) {
  for (auto _ : state) {
    state.PauseTiming();
    const TempHome home;
    auto catalog = Catalog::open(home.path()).value();
    VitalsStore store(*catalog);
    std::mt19937 random(1);
    for (int minute = 0; minute < 1440; ++minute) {
      store.put_later(kMidnight + minute * 1min, a_minute(random));
      if (minute % 100 == 0 && !catalog->flush()) std::abort();
    }
    if (!catalog->flush()) std::abort();
    state.ResumeTiming();
    if (!store.pack(kMidnight + 24h)) state.SkipWithError("cannot be packed");
    state.PauseTiming();
    catalog.reset();
    state.ResumeTiming();
  }
}
BENCHMARK(pack_day_of_all)->Iterations(1)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();

// 400 days of one camera, as the page asks for a year.
void a_year(benchmark::State& state) {
  const TempHome home;
  auto catalog = Catalog::open(home.path()).value();
  VitalsStore store(*catalog);
  std::mt19937 random(1);
  const int days = kSmall ? 20 : 365;
  for (int day = 0; day < days; ++day) {
    for (int minute = 0; minute < 1440; ++minute)
      store.put_later(kMidnight + (day * 24h) + minute * 1min, {{name_of(0), some(random)}});
    if (!catalog->flush()) std::abort();
  }
  if (!store.pack(kMidnight + (days * 24h))) std::abort();
  for (auto _ : state) {
    auto series = store.between(name_of(0), kMidnight, kMidnight + (days * 24h));
    benchmark::DoNotOptimize(series);
  }
}
BENCHMARK(a_year)->Unit(benchmark::kMillisecond);

// Once a second, for each camera: a timer, and what the kernel knows of its connection (camera/gap_watch.h).
void look_at_links(benchmark::State& state) {
  asio::io_context io;
  asio::ip::tcp::acceptor acceptor(io, {asio::ip::address_v4::loopback(), 0});
  std::vector<asio::ip::tcp::socket> boards;
  std::vector<asio::ip::tcp::socket> links;
  std::vector<asio::steady_timer> timers;
  for (int i = 0; i < kCameras; ++i) {
    links.emplace_back(io).connect(acceptor.local_endpoint());
    boards.push_back(acceptor.accept());
    timers.emplace_back(io);
  }
  for (auto _ : state) {
    for (std::size_t i = 0; i < links.size(); ++i) {
      timers[i].expires_after(1us * static_cast<int>(i));
      timers[i].async_wait([&links, i](const boost::system::error_code&) {
        benchmark::DoNotOptimize(net::read_tcp_vitals(links[i].native_handle()));
      });
    }
    io.run();
    io.restart();
  }
}
BENCHMARK(look_at_links)->MeasureProcessCPUTime();

}  // namespace

BENCHMARK_MAIN();
