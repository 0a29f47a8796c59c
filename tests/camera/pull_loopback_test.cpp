// The pull against make-believe boards: every framing, byte identity, one connection, resets and power cuts.
#include "camera/pull.h"

#include <random>
#include <set>

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

INSTANTIATE_TEST_SUITE_P(Pull, EveryFraming, testing::ValuesIn(sim::kAllFramings), [](const auto& chosen) {
  std::string name(sim::name_of(chosen.param));
  std::ranges::replace(name, '-', '_');
  return name;
});

TEST(Pull, NeverASecondStreamHoweverStartStopAndSetFollow) {
  sim::BoardOptions options;
  options.one_viewer = false;  // it would let a second one in: the count must still be one
  Bench bench(options);
  sim::Board& board = bench.board;
  const std::string stream = board.stream_address();
  Pull pull(bench.running.executor(), stream_of(stream), quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  std::mt19937 random(3);
  for (int round = 0; round < 60; ++round) {
    switch (random() % 4) {
      case 0:
        pull.stop();
        break;
      case 1:
        pull.set(stream_of(stream + "?round=" + std::to_string(round)));
        break;
      case 2:
        pull.set(stream_of(stream));
        break;
      default:
        break;
    }
    pull.start();
    if (random() % 3 == 0) {
      const std::size_t before = seen.count();
      ASSERT_TRUE(seen.wait_for(before + 2)) << "round " << round;
    }
  }
  const std::size_t before = seen.count();
  ASSERT_TRUE(seen.wait_for(before + 5));
  EXPECT_EQ(board.counts().most_streams, 1u);
  EXPECT_EQ(pull.status().counters.dropouts, 0u) << "a person's doing is no dropout";
  expect_books_balance(pull.status().counters);
  pull.stop();
  EXPECT_EQ(pull.status().state, State::off);
  EXPECT_TRUE(eventually([&] { return board.counts().streams_now == 0; }));
}

TEST(Pull, AChangeThatDoesNotConcernTheBoardLeavesTheConnectionAlone) {
  Bench bench;
  Settings settings = stream_of(bench.board.stream_address());
  Pull pull(bench.running.executor(), settings, quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(3));
  settings.title = "Bobbin, by the window";
  settings.record = Record::never;
  pull.set(settings);
  ASSERT_TRUE(seen.wait_for(seen.count() + 5));
  EXPECT_EQ(pull.status().counters.connects, 1u);
  settings.enabled = false;
  pull.set(settings);
  EXPECT_EQ(pull.status().state, State::off);
  EXPECT_TRUE(eventually([&] { return bench.board.counts().streams_now == 0; }));
  settings.enabled = true;
  pull.set(settings);
  ASSERT_TRUE(seen.wait_for(seen.count() + 5));
  EXPECT_EQ(pull.status().counters.connects, 2u);
}

TEST(Pull, DisabledAtFirstItWaitsToBeEnabled) {
  Bench bench;
  Settings settings = stream_of(bench.board.stream_address());
  settings.enabled = false;
  Pull pull(bench.running.executor(), settings, quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  EXPECT_EQ(pull.status().state, State::off);
  settings.enabled = true;
  pull.set(settings);
  EXPECT_TRUE(seen.wait_for(3));
}

TEST(Pull, NothingIsPublishedAfterItIsGone) {
  Bench bench;
  for (int round = 0; round < 20; ++round) {
    auto pull = std::make_unique<Pull>(bench.running.executor(), stream_of(bench.board.stream_address()),
                                       quick(), bench.clock, 1);
    const std::shared_ptr<Feed> feed = pull->feed();
    const EveryFrame seen(feed);
    pull->start();
    if (round % 2 == 0) {
      ASSERT_TRUE(seen.wait_for(1));
    }
    pull.reset();
    const std::size_t count = seen.count();
    EXPECT_TRUE(eventually([&] { return bench.board.counts().streams_now == 0; }));
    EXPECT_EQ(seen.count(), count);
  }
}

TEST(Pull, ComesBackAfterAPowerCutAndCountsOneDropout) {
  Bench bench;
  Pull pull(bench.running.executor(), stream_of(bench.board.stream_address()), quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(5));
  bench.board.cycle_power(300ms);
  ASSERT_TRUE(eventually([&] { return pull.status().state == State::waiting; }));
  const Status down = pull.status();
  EXPECT_TRUE(down.retry_at.has_value());
  ASSERT_TRUE(down.last_error.has_value());
  EXPECT_EQ(down.last_error->where, "bobbin: GET " + bench.board.stream_address());
  const std::size_t before = seen.count();
  ASSERT_TRUE(seen.wait_for(before + 5));
  EXPECT_EQ(pull.status().state, State::live);
  EXPECT_EQ(pull.status().counters.dropouts, 1u);
  EXPECT_EQ(bench.board.counts().most_streams, 1u);
  expect_books_balance(pull.status().counters);
}

TEST(Pull, MeasuresTheRateAndTheSize) {
  sim::BoardOptions options;
  options.frames_per_second = 50;
  Bench bench(options);
  Pull pull(bench.running.executor(), stream_of(bench.board.stream_address()), quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(100));
  const Status status = pull.status();
  EXPECT_EQ(status.state, State::live);
  EXPECT_GT(status.frames_per_s, 20);
  EXPECT_LT(status.frames_per_s, 75);
  EXPECT_NEAR(status.bytes_per_s / status.frames_per_s, static_cast<double>(seen.frames()[0]->bytes.size()),
              200);
  EXPECT_EQ(status.size, (PixelSize{64, 48}));
}

// Faults at random, among them resets and power cuts: nothing is lost without a count, and every frame that
// is published is one of the pictures that were sent.
TEST(Pull, TheBooksBalanceUnderRandomFaults) {
  Bench bench;
  sim::Faults& faults = bench.board.faults();
  faults.at_random(sim::Fault::truncated, 0.1, 0.6);
  faults.at_random(sim::Fault::no_soi, 0.1, 0);
  faults.at_random(sim::Fault::reset, 0.03, 0);
  PullLimits limits = quick();
  limits.silence = 400ms;
  Pull pull(bench.running.executor(), stream_of(bench.board.stream_address()), limits, bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(250));
  bench.board.cycle_power(50ms);
  ASSERT_TRUE(seen.wait_for(300));
  pull.stop();
  const Counters counters = pull.status().counters;
  expect_books_balance(counters);
  EXPECT_EQ(counters.published, seen.count());
  EXPECT_GT(counters.rejected[static_cast<std::size_t>(jpeg::BrokenKind::no_end)], 0u);
  EXPECT_GT(counters.rejected[static_cast<std::size_t>(jpeg::BrokenKind::no_start)], 0u);
  EXPECT_GT(counters.dropouts, 0u);
  EXPECT_EQ(bench.board.counts().most_streams, 1u);
  std::set<std::uint64_t> sent;
  for (const std::uint64_t hash : bench.board.sent_hashes()) sent.insert(hash);
  for (const std::uint64_t hash : seen.hashes()) EXPECT_TRUE(sent.contains(hash));
}

TEST(Pull, PollsStillsOnOneConnectionAtItsOwnPace) {
  Bench bench;
  Pull pull(bench.running.executor(), stills_of(bench.board.still_address(), 100ms), quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(11));
  const auto frames = seen.frames();
  const auto took = frames[10]->arrived_mono - frames[0]->arrived_mono;
  EXPECT_GE(took, 900ms) << "ten periods, less the time that the last answer was quicker than the first";
  EXPECT_EQ(pull.status().state, State::live);
  const Counters counters = pull.status().counters;
  expect_books_balance(counters);
  EXPECT_EQ(counters.rejected_total(), 0u);
  EXPECT_LE(counters.connects, 1 + counters.published);
  pull.stop();
}

TEST(Pull, TheSamePictureAgainIsAFrameAgain) {
  Running running;
  base::SystemClock clock;
  sim::Board board(running.executor(), {}, std::make_shared<sim::ListSource>(different_pictures(1)));
  ASSERT_TRUE(board.start().has_value());
  Pull pull(running.executor(), stills_of(board.still_address()), quick(), clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  ASSERT_TRUE(seen.wait_for(4));
  const auto hashes = seen.hashes();
  EXPECT_EQ(hashes[0], hashes[3]);
}

TEST(Pull, AStreamAddressThatGivesOneStillIsPolled) {
  Bench bench;
  Settings settings = stream_of(bench.board.still_address());
  settings.poll_every = 100ms;
  Pull pull(bench.running.executor(), settings, quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  EXPECT_TRUE(seen.wait_for(5));
  EXPECT_EQ(pull.status().state, State::live);
  EXPECT_EQ(pull.status().counters.dropouts, 0u);
}

TEST(Pull, PushedStillsAreCheckedAndCountedLikeAnyOther) {
  Running running;
  base::SystemClock clock;
  Settings settings = bobbin();
  settings.source = Source::pushed;
  Pull pull(running.executor(), settings, quick(), clock, 1);
  const EveryFrame seen(pull.feed());
  const auto picture = rookery::test::make_picture(64, 48, 1);
  EXPECT_EQ(pull.push(picture).error().code, base::ErrorCode::refused) << "not started";
  pull.start();
  EXPECT_EQ(pull.status().state, State::asleep);
  EXPECT_TRUE(pull.push(picture).has_value());
  EXPECT_EQ(pull.status().state, State::live);
  auto broken = picture;
  broken.resize(broken.size() / 2);
  const auto refused = pull.push(broken);
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().code, base::ErrorCode::malformed);
  EXPECT_NE(refused.error().detail.find("no-end"), std::string::npos) << refused.error().text();
  EXPECT_EQ(seen.count(), 1u);
  expect_books_balance(pull.status().counters);
  EXPECT_EQ(pull.status().counters.received, 2u);
  pull.set(stream_of("http://127.0.0.1:1/"));
  EXPECT_EQ(pull.push(picture).error().code, base::ErrorCode::unsupported);
}

struct SignInCase {
  const char* name;
  sim::SignIn kind;
};
class EverySignIn : public testing::TestWithParam<SignInCase> {};

TEST_P(EverySignIn, RightWrongAndNone) {
  sim::BoardOptions options;
  options.sign_in = GetParam().kind;
  options.user = "kiln";
  options.password = "p@ss \"word\"";
  Bench bench(options);
  Settings settings = stream_of(bench.board.stream_address());
  Pull pull(bench.running.executor(), settings, quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  const auto says = [&](std::string_view text) {
    const auto error = pull.status().last_error;
    return error && error->text().find(text) != std::string::npos &&
           error->code == base::ErrorCode::no_permission;
  };
  EXPECT_TRUE(eventually([&] { return says("asks for a user and password"); }));
  settings.user = "kiln";
  settings.password = "wrong";
  pull.set(settings);
  EXPECT_TRUE(eventually([&] { return says("does not accept this user and password"); }));
  EXPECT_EQ(seen.count(), 0u);
  settings.password = options.password;
  pull.set(settings);
  EXPECT_TRUE(seen.wait_for(5));
  settings.source = Source::stills;
  settings.still_address = bench.board.still_address();
  settings.poll_every = 100ms;
  pull.set(settings);
  ASSERT_TRUE(eventually([&] { return bench.board.counts().stills_sent >= 3; }));
}

INSTANTIATE_TEST_SUITE_P(Pull, EverySignIn,
                         testing::Values(SignInCase{"basic", sim::SignIn::basic},
                                         SignInCase{"digest_md5", sim::SignIn::digest_md5},
                                         SignInCase{"digest_sha256", sim::SignIn::digest_sha256}),
                         [](const auto& chosen) { return chosen.param.name; });

TEST(Pull, FollowsARedirectToTheStreamsPort) {
  Bench bench;
  Pull pull(bench.running.executor(), stream_of(bench.board.redirect_address()), quick(), bench.clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();
  EXPECT_TRUE(seen.wait_for(5));
}

}  // namespace
}  // namespace rookery::camera::test
