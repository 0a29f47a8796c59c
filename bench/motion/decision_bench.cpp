// What does it cost on one core to decide whether anything moves in a camera's picture, from its JPEG to the
// decision: the skimmer and the motion detector against OpenCV's MOG2 on the whole picture, and against MOG2
// on what libjpeg-turbo decodes at an eighth?
//
// Workload: 100 pictures of Debian's opencv-doc clip, a street in which people walk, 640×480 at 4:2:2 with
// the standard Huffman tables, 40 kB and 25 kB on average, forth and back, so that nothing jumps. All decode
// from memory; OpenCV takes one thread and its own defaults for the model (history 500, variance threshold
// 16, shadows found) unless the name says otherwise. Its decision is the least that can be had from its mask,
// the number of foreground pixels: no clean-up, no regions, no events. Ours goes to the event.
//
//   decision_bench --benchmark_repetitions=9 --benchmark_enable_random_interleaving=true
//     --benchmark_report_aggregates_only=true
#include <benchmark/benchmark.h>
#include <turbojpeg.h>

#include <map>
#include <memory>

#include <opencv2/core.hpp>
#include <opencv2/video/background_segm.hpp>

#include "bench/core_clock.h"
#include "bench/motion/film.h"
#include "vision/motion_watch.h"

namespace {

using namespace rookery;  // NOLINT(google-build-using-namespace)

constexpr int kPictures = 100;

struct Stream {
  std::vector<sim::Bytes> jpegs;
  double mean_bytes = 0;
  // Forth and back.
  const std::vector<std::uint8_t>& at(std::size_t n) const {
    const std::size_t turn = n % (2 * jpegs.size());
    return *jpegs[turn < jpegs.size() ? turn : 2 * jpegs.size() - 1 - turn];
  }
};

Stream make_stream(std::size_t kilobytes) {
  Stream stream;
  const auto pictures = bench::read_pictures("vtest.avi", 1, kPictures);
  if (pictures.size() != kPictures) return stream;
  const int quality = bench::quality_for(pictures[kPictures / 2], 1000 * kilobytes);
  sim::Encoder encoder;
  for (const auto& picture : pictures) {
    stream.jpegs.push_back(encoder.encode(picture, quality));
    stream.mean_bytes += static_cast<double>(stream.jpegs.back()->size()) / kPictures;
  }
  return stream;
}

const Stream& stream_for(std::int64_t kilobytes) {
  static std::map<std::int64_t, Stream> made;
  if (!made.contains(kilobytes)) made[kilobytes] = make_stream(static_cast<std::size_t>(kilobytes));
  return made[kilobytes];
}

// `decide`: JPEG and its number, to whether something moves; false in `ok` when it could not be decoded.
template <class Decide>
void run(benchmark::State& state, Decide&& decide) {
  const Stream& stream = stream_for(state.range(0));
  if (stream.jpegs.empty()) {
    // Not an error: the benchmark runs among the tests, where the clip may be missing.
    state.SetLabel("the clip is not there (Debian package opencv-doc)");
    for (auto _ : state) {
    }
    return;
  }
  static const double hz = bench::measure_hz();
  std::size_t n = 0;
  // Models settle first: a new one adds components to every pixel's mixture and so is not what it will be.
  for (; n < kPictures; ++n) decide(stream.at(n), n);
  bool ok = true;
  const double began = bench::cpu_seconds();
  for (auto _ : state) {
    ok = decide(stream.at(n), n) && ok;
    ++n;
  }
  const double seconds = bench::cpu_seconds() - began;
  if (!ok) state.SkipWithError("not decoded");
  const auto done = static_cast<double>(state.iterations());
  const double blocks = 2.0 * bench::kBoardSize.width * bench::kBoardSize.height / 64;  // 4:2:2
  state.SetBytesProcessed(static_cast<std::int64_t>(done * stream.mean_bytes));
  state.counters["picture_bytes"] = stream.mean_bytes;
  state.counters["cycles_a_block"] = hz * seconds / done / blocks;
}

void ours(benchmark::State& state) {
  vision::MotionWatch watch;
  jpeg::LumaGrid grid;
  run(state, [&](const std::vector<std::uint8_t>& bytes, std::size_t n) {
    const bool ok =
        jpeg::compute_luma_grid(std::as_bytes(std::span(bytes)), grid).has_value() && !grid.damaged;
    benchmark::DoNotOptimize(watch.add(grid, base::Microseconds(1'000'000 / bench::kFilm_hz) * n));
    return ok;
  });
}

void ours_skimming_alone(benchmark::State& state) {
  jpeg::LumaGrid grid;
  run(state, [&](const std::vector<std::uint8_t>& bytes, std::size_t) {
    return jpeg::compute_luma_grid(std::as_bytes(std::span(bytes)), grid).has_value() && !grid.damaged;
  });
}

enum class Colour : std::uint8_t { bgr, gray };

// eighths: of the picture's size that libjpeg-turbo decodes to. model: false leaves MOG2 out.
void mog2(benchmark::State& state, int eighths, Colour colour, bool shadows, bool model = true) {
  cv::setNumThreads(1);
  const auto background = cv::createBackgroundSubtractorMOG2(500, 16, shadows);
  const std::unique_ptr<void, int (*)(tjhandle)> decoder(tjInitDecompress(), tjDestroy);
  const int width = bench::kBoardSize.width * eighths / 8;
  const int height = bench::kBoardSize.height * eighths / 8;
  cv::Mat picture(height, width, colour == Colour::bgr ? CV_8UC3 : CV_8UC1);
  cv::Mat mask;
  const int format = colour == Colour::bgr ? TJPF_BGR : TJPF_GRAY;
  run(state, [&](const std::vector<std::uint8_t>& bytes, std::size_t) {
    const int failed =
        tjDecompress2(decoder.get(), bytes.data(), bytes.size(), picture.data, width, 0, height, format, 0);
    if (model) {
      background->apply(picture, mask);
      benchmark::DoNotOptimize(cv::countNonZero(mask));
    }
    return failed == 0;
  });
}

void sizes(benchmark::internal::Benchmark* benchmark) {
  benchmark->ArgName("kB")->Arg(40)->Arg(25)->Unit(benchmark::kMicrosecond);
}

BENCHMARK(ours)->Apply(sizes);
BENCHMARK(ours_skimming_alone)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, in_full, 8, Colour::bgr, true)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, in_full_gray_no_shadows, 8, Colour::gray, false)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, in_full_decoding_alone, 8, Colour::bgr, true, false)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, an_eighth, 1, Colour::gray, true)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, an_eighth_no_shadows, 1, Colour::gray, false)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, an_eighth_bgr, 1, Colour::bgr, true)->Apply(sizes);
BENCHMARK_CAPTURE(mog2, an_eighth_decoding_alone, 1, Colour::gray, true, false)->Apply(sizes);

}  // namespace

BENCHMARK_MAIN();
