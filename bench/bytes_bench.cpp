// How much of a core does taking pictures out of a stream cost, before anybody looks at them? A station of
// 100 cameras at 10 frames/s of 25 kB (640×480) has 1 ms a frame on one core for everything it does.
//
// Workload: 640×480 pictures of about 25 kB, the size that boards send at that resolution and common
// settings, in the boards' usual framing; read in pieces of 5744 bytes, the boards' TCP window, and of 64
// KiB, a large socket read.
#include <benchmark/benchmark.h>

#include <span>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <turbojpeg.h>

#include "jpeg/luma_grid.h"
#include "jpeg/scale.h"
#include "jpeg/walk.h"
#include "proto/multipart.h"

namespace {

using namespace rookery;

// 640×480, 4:2:2 as the sensors give it: a ramp with noise, whose strength makes the size.
std::vector<std::byte> make_picture() {
  constexpr int kWidth_px = 640;
  constexpr int kHeight_px = 480;
  std::vector<unsigned char> rgb;
  unsigned state = 1;
  for (int y = 0; y < kHeight_px; ++y) {
    for (int x = 0; x < kWidth_px; ++x) {
      state = state * 1664525u + 1013904223u;
      const int base =
          40 + 120 * x / kWidth_px + ((x / 40 + y / 30) % 2) * 40 + static_cast<int>(state >> 28);
      for (const int tint : {0, 10, -10}) rgb.push_back(static_cast<unsigned char>(base + tint));
    }
  }
  const tjhandle encoder = tjInitCompress();
  unsigned char* out = nullptr;
  unsigned long size = 0;
  tjCompress2(encoder, rgb.data(), kWidth_px, 0, kHeight_px, TJPF_RGB, &out, &size, TJSAMP_422, 70, 0);
  const auto* begin = reinterpret_cast<const std::byte*>(out);
  std::vector<std::byte> jpeg(begin, begin + size);
  tjFree(out);
  tjDestroy(encoder);
  return jpeg;
}

const std::vector<std::byte>& picture() {
  static const std::vector<std::byte> jpeg = make_picture();
  return jpeg;
}

void count_bytes(benchmark::State& state, std::size_t bytes_each) {
  state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(bytes_each));
  state.counters["picture_bytes"] = static_cast<double>(picture().size());
}

void walk_a_picture(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(jpeg::walk(picture()));
  count_bytes(state, picture().size());
}
BENCHMARK(walk_a_picture)->Unit(benchmark::kMicrosecond);

void luma_grid_of_a_picture(benchmark::State& state) {
  jpeg::LumaGrid grid;
  for (auto _ : state) {
    const bool done = jpeg::compute_luma_grid(picture(), grid).has_value();
    if (!done) state.SkipWithError("not decoded");
  }
  count_bytes(state, picture().size());
}
BENCHMARK(luma_grid_of_a_picture)->Unit(benchmark::kMicrosecond);

void scale_a_picture(benchmark::State& state) {
  for (auto _ : state) {
    const auto scaled = jpeg::compute_scaled(picture(), static_cast<int>(state.range(0)), 75);
    if (!scaled) state.SkipWithError("not scaled");
  }
  count_bytes(state, picture().size());
}
BENCHMARK(scale_a_picture)->Arg(160)->Arg(320)->Unit(benchmark::kMicrosecond);

// Eight frames in the boards' usual framing.
std::vector<std::byte> make_stream(bool with_length) {
  std::vector<std::byte> stream;
  const auto add = [&](std::span<const std::byte> bytes) {
    stream.insert(stream.end(), bytes.begin(), bytes.end());
  };
  for (int i = 0; i < 8; ++i) {
    const std::string head =
        with_length ? fmt::format("\r\n--saltmarsh\r\nContent-Type: image/jpeg\r\nContent-Length: {}\r\n\r\n",
                                  picture().size())
                    : std::string("\r\n--saltmarsh\r\nContent-Type: image/jpeg\r\n\r\n");
    add(std::as_bytes(std::span(head)));
    add(picture());
  }
  return stream;
}

void read_a_stream(benchmark::State& state) {
  const auto stream = make_stream(state.range(1) != 0);
  const auto piece = static_cast<std::size_t>(state.range(0));
  proto::MultipartReader reader("saltmarsh");
  for (auto _ : state) {
    for (std::size_t at = 0; at < stream.size(); at += piece) {
      reader.push(std::span(stream).subspan(at, std::min(piece, stream.size() - at)));
      while (auto event = reader.next()) benchmark::DoNotOptimize(event);
    }
  }
  count_bytes(state, stream.size());
}
BENCHMARK(read_a_stream)
    ->ArgNames({"piece", "length"})
    ->ArgsProduct({{1, 1460, 5744, 65536}, {0, 1}})
    ->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
