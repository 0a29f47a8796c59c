// The pull against make-believe boards: every framing, byte identity, one connection, resets and power cuts.
#include "camera/pull.h"

#include <gtest/gtest.h>

#include "tests/camera/pull_support.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;

// What a test needs of a board; the source gives pictures that differ.
struct Bench {
  explicit Bench(sim::BoardOptions options = {}) : board(running.executor(), with_hashes(options), source()) {
    const auto started = board.start();
    EXPECT_TRUE(started.has_value());
  }
  static sim::BoardOptions with_hashes(sim::BoardOptions options) {
    options.record_hashes = true;
    if (options.frames_per_second == 10) options.frames_per_second = 100;
    return options;
  }
  static std::shared_ptr<sim::FrameSource> source() {
    return std::make_shared<sim::ListSource>(different_pictures(8));
  }

  Running running;
  base::SystemClock clock;
  sim::Board board;
};

class EveryFraming : public testing::TestWithParam<sim::Framing> {};

TEST_P(EveryFraming, GivesFramesThatAreByteIdentical) {
  sim::BoardOptions options;
  options.framing = GetParam();
  if (options.framing == sim::Framing::quoted_boundary) options.boundary = "saltmarsh:frame";
  Bench bench(options);
  Pull pull(bench.running.executor(), stream_of(bench.board.stream_address()), quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(30));
  pull.stop();
  const std::vector<std::uint64_t> got = seen.hashes();
  const std::vector<std::uint64_t> sent = bench.board.sent_hashes();
  ASSERT_GE(sent.size() + 1, got.size());
  for (std::size_t n = 0; n < std::min(got.size(), sent.size()); ++n)
    EXPECT_EQ(got[n], sent[n]) << "frame " << n;
  const Counters counters = pull.status().counters;
  expect_books_balance(counters);
  EXPECT_EQ(counters.rejected_total(), 0u);
  EXPECT_EQ(counters.connects, 1u);
  EXPECT_EQ(bench.board.counts().most_streams, 1u);
  for (std::uint64_t n = 0; const FramePtr& frame : seen.frames()) {
    EXPECT_EQ(frame->number, ++n);
    EXPECT_EQ(frame->size, (PixelSize{64, 48}));
  }
}

INSTANTIATE_TEST_SUITE_P(Pull, EveryFraming, testing::ValuesIn(sim::kAllFramings), [](const auto& info) {
  std::string name(sim::name_of(info.param));
  std::ranges::replace(name, '-', '_');
  return name;
});

}  // namespace
}  // namespace rookery::camera::test
