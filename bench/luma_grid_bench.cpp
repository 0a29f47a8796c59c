// How much of a core does watching a camera cost before anybody looks at the grid: what does skimming the DC
// values take against libjpeg-turbo's decode at an eighth and in full, and what bounds it?
//
// Workload: 640×480 frames of Debian's opencv-doc clip (a street seen by a fixed camera), encoded at about
// 28, 38 and 64 kB with the standard Huffman tables, as boards do; 4:2:2 as the common sensors give it, and
// 4:2:0. Sixteen frames in turn, so that no predictor learns one by heart. Without the clip, drawn frames of
// the same sizes. Counters: picture_bytes; ns and core cycles a block of any component.
//
//   luma_grid_bench --benchmark_repetitions=7 --benchmark_enable_random_interleaving=true
//     --benchmark_report_aggregates_only=true
#include <benchmark/benchmark.h>

#include <array>
#include <cstdio>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include <turbojpeg.h>

#include "bench/core_clock.h"
#include "jpeg/luma_grid.h"

namespace {

using namespace rookery;
using Bytes = std::vector<std::byte>;
using Frame = std::vector<unsigned char>;  // RGB

constexpr int kWidth_px = 640;
constexpr int kHeight_px = 480;
constexpr std::size_t kFrames = 16;
constexpr std::size_t kFrame_bytes = std::size_t{kWidth_px} * kHeight_px * 3;

std::vector<Frame> read_film() {
  std::vector<Frame> frames;
  const std::string command =
      "ffmpeg -v quiet -nostdin -i /usr/share/doc/opencv-doc/examples/data/vtest.avi -vf "
      "'select=not(mod(n\\,10)),scale=640:480' -vsync vfr -frames:v " +
      std::to_string(kFrames) + " -f rawvideo -pix_fmt rgb24 - 2>/dev/null";
  std::FILE* const pipe = ::popen(command.c_str(), "r");
  if (pipe == nullptr) return frames;
  Frame frame(kFrame_bytes);
  while (std::fread(frame.data(), 1, frame.size(), pipe) == frame.size()) frames.push_back(frame);
  ::pclose(pipe);
  return frames;
}

// Shades, edges and noise.
std::vector<Frame> draw_frames() {
  std::vector<Frame> frames;
  unsigned state = 1;
  for (int n = 0; n < static_cast<int>(kFrames); ++n) {
    Frame frame;
    for (int y = 0; y < kHeight_px; ++y) {
      for (int x = 0; x < kWidth_px; ++x) {
        state = state * 1664525u + 1013904223u;
        const int noise = static_cast<int>(state >> 27);
        const int base = 40 + 120 * x / kWidth_px + ((x + 3 * n) / 40 + y / 30) % 2 * 40 + noise;
        for (const int tint : {0, 10, -10}) frame.push_back(static_cast<unsigned char>(base + tint));
      }
    }
    frames.push_back(frame);
  }
  return frames;
}

const std::vector<Frame>& frames() {
  static const std::vector<Frame> kept = [] {
    auto film = read_film();
    return film.size() == kFrames ? film : draw_frames();
  }();
  return kept;
}

Bytes encode(const Frame& frame, int sampling, int quality) {
  const tjhandle encoder = tjInitCompress();
  unsigned char* out = nullptr;
  unsigned long size = 0;
  tjCompress2(encoder, frame.data(), kWidth_px, 0, kHeight_px, TJPF_RGB, &out, &size, sampling, quality, 0);
  const auto* begin = reinterpret_cast<const std::byte*>(out);
  Bytes jpeg(begin, begin + size);
  tjFree(out);
  tjDestroy(encoder);
  return jpeg;
}

struct Pictures {
  std::vector<Bytes> jpegs;
  double mean_bytes = 0;
  int blocks = 0;  // of all components, in one picture
};

// At the quality that comes nearest to that size from below.
Pictures make_pictures(std::size_t kilobytes, int sampling) {
  Pictures pictures;
  const auto size_at = [&](int quality) { return encode(frames()[0], sampling, quality).size(); };
  int quality = 20;
  while (quality < 98 && size_at(quality + 1) <= 1000 * kilobytes) ++quality;
  for (const auto& frame : frames()) {
    pictures.jpegs.push_back(encode(frame, sampling, quality));
    pictures.mean_bytes += static_cast<double>(pictures.jpegs.back().size()) / kFrames;
  }
  const int luma = kWidth_px / 8 * kHeight_px / 8;
  pictures.blocks = sampling == TJSAMP_422 ? 2 * luma : luma + luma / 2;
  return pictures;
}

// The arguments: kilobytes and 422 or 420.
const Pictures& pictures_for(const benchmark::State& state) {
  static std::map<std::pair<std::int64_t, std::int64_t>, Pictures> made;
  const auto key = std::pair(state.range(0), state.range(1));
  if (!made.contains(key)) {
    made[key] =
        make_pictures(static_cast<std::size_t>(key.first), key.second == 422 ? TJSAMP_422 : TJSAMP_420);
  }
  return made[key];
}

// `seconds` of CPU for `state.iterations()` pictures.
void report(benchmark::State& state, const Pictures& pictures, double seconds, std::int64_t done) {
  static const double hz = bench::measure_hz();
  const double blocks = static_cast<double>(done) * pictures.blocks;
  state.SetBytesProcessed(static_cast<std::int64_t>(static_cast<double>(done) * pictures.mean_bytes));
  state.counters["picture_bytes"] = pictures.mean_bytes;
  state.counters["ns_a_block"] = 1e9 * seconds / blocks;
  state.counters["cycles_a_block"] = hz * seconds / blocks;
}

void skim(benchmark::State& state) {
  const Pictures& pictures = pictures_for(state);
  jpeg::LumaGrid grid;
  std::size_t next = 0;
  const double began = bench::cpu_seconds();
  for (auto _ : state) {
    const bool done = jpeg::compute_luma_grid(pictures.jpegs[next++ % kFrames], grid).has_value();
    if (!done || grid.damaged) state.SkipWithError("not skimmed");
  }
  report(state, pictures, bench::cpu_seconds() - began, state.iterations());
}

// Time is that of two pictures; bytes and cycles count both.
void skim_two_in_turns(benchmark::State& state) {
  const Pictures& pictures = pictures_for(state);
  jpeg::LumaGrid a, b;
  std::size_t next = 0;
  const double began = bench::cpu_seconds();
  for (auto _ : state) {
    const auto both = jpeg::compute_luma_grids(pictures.jpegs[next % kFrames], a,
                                               pictures.jpegs[(next + kFrames / 2) % kFrames], b);
    if (!both.first || !both.second) state.SkipWithError("not skimmed");
    ++next;
  }
  report(state, pictures, bench::cpu_seconds() - began, 2 * state.iterations());
}

void decode(benchmark::State& state, int eighths) {
  const Pictures& pictures = pictures_for(state);
  const int width = kWidth_px * eighths / 8;
  const int height = kHeight_px * eighths / 8;
  std::vector<unsigned char> out(static_cast<std::size_t>(width * height));
  const std::unique_ptr<void, int (*)(tjhandle)> decoder(tjInitDecompress(), tjDestroy);
  std::size_t next = 0;
  const double began = bench::cpu_seconds();
  for (auto _ : state) {
    const auto& jpeg = pictures.jpegs[next++ % kFrames];
    const auto* bytes = reinterpret_cast<const unsigned char*>(jpeg.data());
    if (tjDecompress2(decoder.get(), bytes, jpeg.size(), out.data(), width, 0, height, TJPF_GRAY, 0) != 0) {
      state.SkipWithError("not decoded");
    }
  }
  report(state, pictures, bench::cpu_seconds() - began, state.iterations());
}

void decode_an_eighth(benchmark::State& state) { decode(state, 1); }
void decode_in_full(benchmark::State& state) { decode(state, 8); }

void sizes(benchmark::internal::Benchmark* benchmark) {
  benchmark->ArgNames({"kB", "sampling"})
      ->ArgsProduct({{28, 38, 64}, {422, 420}})
      ->Unit(benchmark::kMicrosecond);
}
BENCHMARK(skim)->Apply(sizes);
BENCHMARK(skim_two_in_turns)->Apply(sizes);
BENCHMARK(decode_an_eighth)->Apply(sizes);
BENCHMARK(decode_in_full)->Apply(sizes);

// A camera whose tables never come again: what making them costs. 28 kB, 4:2:2.
void skim_with_other_tables_each_time(benchmark::State& state) {
  ::setenv("TJ_OPTIMIZE", "1", 1);  // TurboJPEG 2.1 takes it from the environment only
  const Pictures pictures = make_pictures(28, TJSAMP_422);
  ::unsetenv("TJ_OPTIMIZE");
  jpeg::LumaGrid grid;
  std::size_t next = 0;
  const double began = bench::cpu_seconds();
  for (auto _ : state) {
    const bool done = jpeg::compute_luma_grid(pictures.jpegs[next++ % kFrames], grid).has_value();
    if (!done || grid.damaged) state.SkipWithError("not skimmed");
  }
  report(state, pictures, bench::cpu_seconds() - began, state.iterations());
}
BENCHMARK(skim_with_other_tables_each_time)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
