// What do recording and finding again cost? A station of 100 cameras at 10 frames/s of 25 kB writes 1000
// frames/s, and a person who clicks on a strip waits for one index (a segment of 10 minutes: 6000 frames) and
// one frame.
//
// Workload: frames of 25 kB (what boards send at 640×480), segments of 6000 frames, files in the page cache.
#include <benchmark/benchmark.h>

#include <filesystem>
#include <random>

#include <unistd.h>

#include "archive/matroska_writer.h"
#include "archive/mend.h"
#include "archive/playback.h"
#include "archive/recorder.h"
#include "archive/segment_index.h"
#include "archive/segment_store.h"

namespace {

using namespace rookery;
using namespace rookery::archive;
using std::chrono::milliseconds;

constexpr std::size_t kFrame_bytes = 25'000;
constexpr int kSegmentFrames = 6000;
const base::WallTime kNoon = std::chrono::sys_days{std::chrono::year{2026} / 3 / 1} + std::chrono::hours{12};

class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "rookery-bench-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    path_ = name;
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

std::vector<std::byte> noise() {
  std::vector<std::byte> bytes(kFrame_bytes);
  std::mt19937 random{1};
  for (auto& byte : bytes) byte = static_cast<std::byte>(random());
  return bytes;
}

void write_segment(const std::filesystem::path& file, int frames) {
  const auto picture = noise();
  std::filesystem::remove(file);
  auto made = real_disk().create(file);
  auto writer =
      MatroskaWriter::begin(std::shared_ptr<DiskFile>(std::move(made).value()), {"anvil", kNoon, {640, 480}});
  for (int i = 0; i < frames; ++i)
    if (!(*writer)->add(milliseconds{i * 100}, picture)) std::abort();
  if (!(*writer)->finish()) std::abort();
}

// One frame through libavformat into the page cache.
void write_frame(benchmark::State& state) {
  const Folder folder;
  const auto picture = noise();
  auto made = real_disk().create(folder.path() / "a.mkv");
  auto writer =
      MatroskaWriter::begin(std::shared_ptr<DiskFile>(std::move(made).value()), {"anvil", kNoon, {640, 480}});
  std::int64_t at = 0;
  for (auto _ : state) {
    if (!(*writer)->add(milliseconds{at += 100}, picture)) std::abort();
  }
  state.SetItemsProcessed(state.iterations());
  state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(kFrame_bytes));
}
BENCHMARK(write_frame)->Iterations(4000);

// 100 cameras, one second of theirs: queue, writer thread, catalog, flush to the medium.
void record_a_second_of_100_cameras(benchmark::State& state) {
  const Folder folder;
  auto catalog = Catalog::open(folder.path()).value();
  const base::SystemClock clock;
  RecorderOptions options;
  options.keep_free_bytes = 0;
  Recorder recorder{*catalog, options, clock};
  std::vector<base::CameraName> cameras;
  for (int i = 0; i < 100; ++i) cameras.push_back(base::CameraName::parse(fmt::format("seat-{}", i)).value());
  const auto picture = noise();
  for (auto _ : state) {
    for (int frame = 0; frame < 10; ++frame)
      for (const auto& camera : cameras)
        recorder.record(camera, std::make_shared<const camera::Frame>(picture, clock.wall(), clock.mono(), 1,
                                                                      camera::PixelSize{640, 480}));
    recorder.flush();
  }
  std::uint64_t lost = 0;
  for (const auto& camera : cameras) lost += recorder.counters(camera).lost;
  state.counters["lost"] = static_cast<double>(lost);
  state.SetItemsProcessed(state.iterations() * 1000);
}
BENCHMARK(record_a_second_of_100_cameras)->Unit(benchmark::kMillisecond)->UseRealTime();

void index_ten_minutes(benchmark::State& state) {
  const Folder folder;
  write_segment(folder.path() / "a.mkv", kSegmentFrames);
  for (auto _ : state) {
    auto source = FileSource::open(folder.path() / "a.mkv");
    auto index = SegmentIndex::read(*source, "a.mkv");
    if (index->frames().size() != kSegmentFrames) std::abort();
  }
}
BENCHMARK(index_ten_minutes)->Unit(benchmark::kMillisecond);

// A click on a strip: ten segments of ten minutes, anywhere in them.
void seek_anywhere(benchmark::State& state) {
  const Folder folder;
  auto catalog = Catalog::open(folder.path()).value();
  SegmentStore store{*catalog};
  constexpr int kSegments = 10;
  for (int i = 0; i < kSegments; ++i) {
    Segment segment{base::CameraName::parse("anvil").value()};
    segment.path = fmt::format("anvil/2026-03-01/12{}000.000Z.mkv", i);
    segment.start = kNoon + std::chrono::minutes{10 * i};
    segment.end = segment.start + milliseconds{(kSegmentFrames - 1) * 100};
    // One file serves for all: only the catalog's times differ.
    if (i == 0) write_segment(folder.path() / "archive" / segment.path, kSegmentFrames);
    if (i > 0) {
      std::filesystem::create_hard_link(folder.path() / "archive/anvil/2026-03-01/120000.000Z.mkv",
                                        folder.path() / "archive" / segment.path);
    }
    if (!store.add(segment)) std::abort();
  }
  Playback playback{*catalog, base::CameraName::parse("anvil").value()};
  std::mt19937 random{2};
  for (auto _ : state) {
    const auto at = kNoon + milliseconds{random() % (kSegments * 600'000)};
    benchmark::DoNotOptimize(playback.seek(at));
  }
}
BENCHMARK(seek_anywhere)->Unit(benchmark::kMillisecond);

void play_forward(benchmark::State& state) {
  const Folder folder;
  auto catalog = Catalog::open(folder.path()).value();
  Segment segment{base::CameraName::parse("anvil").value()};
  segment.path = "anvil/2026-03-01/120000.000Z.mkv";
  segment.start = kNoon;
  segment.end = kNoon + milliseconds{(kSegmentFrames - 1) * 100};
  write_segment(folder.path() / "archive" / segment.path, kSegmentFrames);
  if (!SegmentStore{*catalog}.add(segment)) std::abort();
  Playback playback{*catalog, segment.camera};
  (void)playback.seek(kNoon);
  for (auto _ : state) {
    auto frame = playback.next();
    if (!*frame) (void)playback.seek(kNoon);
  }
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(play_forward);

}  // namespace

BENCHMARK_MAIN();
