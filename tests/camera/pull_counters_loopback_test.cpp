// The station's counters against the board's own: what a board says it has sent has all been received, and
// every picture is either published or counted by what was wrong with it.
#include <gtest/gtest.h>

#include "camera/pull.h"
#include "sim/faults.h"
#include "tests/camera/pull_support.h"

namespace rookery::camera::test {
namespace {

using namespace std::chrono_literals;
using jpeg::BrokenKind;

// Eight pictures over and over, five of them broken in ways of their own.
std::vector<sim::Bytes> good_and_broken() {
  std::vector<sim::Bytes> pictures = different_pictures(8);
  const auto damaged = [&](std::size_t number, sim::Fault fault) {
    sim::ActiveFaults active;
    active.set(fault, sim::default_strength(fault));
    pictures[number] = sim::damage_bytes(pictures[number], active);
  };
  damaged(1, sim::Fault::truncated);
  damaged(2, sim::Fault::no_soi);
  damaged(3, sim::Fault::grey_fill);  // whole by its markers
  const std::string page = "<html><title>Bobbin</title></html>";
  pictures[4] = sim::make_bytes({page.begin(), page.end()});
  std::vector<std::uint8_t> with_tail = *pictures[5];  // the beginning of the next one behind it
  with_tail.insert(with_tail.end(), pictures[6]->begin(), pictures[6]->begin() + 300);
  pictures[5] = sim::make_bytes(std::move(with_tail));
  return pictures;
}

class CountersOfEveryFraming : public testing::TestWithParam<sim::Framing> {};

TEST_P(CountersOfEveryFraming, AgreeWithTheBoard) {
  constexpr std::uint64_t kRounds = 10;
  sim::BoardOptions options;
  options.framing = GetParam();
  if (options.framing == sim::Framing::quoted_boundary) options.boundary = "saltmarsh:frame";
  options.frames_per_second = 200;
  options.frames_until_close = 8 * kRounds;
  Running running;
  const base::SystemClock clock;
  sim::Board board(running.executor(), options, std::make_shared<sim::ListSource>(good_and_broken()));
  ASSERT_TRUE(board.start().has_value());
  PullLimits limits = quick();
  limits.backoff_first = limits.backoff_most = 1h;  // one stream, from its beginning to its end
  Pull pull(running.executor(), stream_of(board.stream_address()), limits, clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(eventually([&] { return pull.status().state == State::waiting; }));
  const Status status = pull.status();
  const Counters& counters = status.counters;
  EXPECT_EQ(board.counts().frames_sent, 8 * kRounds);
  EXPECT_EQ(counters.received, board.counts().frames_sent);
  expect_books_balance(counters);
  EXPECT_EQ(counters.published, 4 * kRounds);
  EXPECT_EQ(seen.count(), counters.published);
  std::array<std::uint64_t, jpeg::kBrokenKinds> rejected{};
  for (const BrokenKind kind :
       {BrokenKind::no_end, BrokenKind::no_start, BrokenKind::not_a_picture, BrokenKind::trailing_data}) {
    rejected[static_cast<std::size_t>(kind)] = kRounds;
  }
  EXPECT_EQ(counters.rejected, rejected);
  EXPECT_EQ(counters.rejected_parts, 0u);
  EXPECT_EQ(status.last_error->code, base::ErrorCode::closed) << status.last_error->text();
}

INSTANTIATE_TEST_SUITE_P(Pull, CountersOfEveryFraming, testing::ValuesIn(sim::kAllFramings),
                         [](const auto& chosen) {
                           std::string name(sim::name_of(chosen.param));
                           std::ranges::replace(name, '-', '_');
                           return name;
                         });

}  // namespace
}  // namespace rookery::camera::test
