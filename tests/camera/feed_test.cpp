#include "camera/feed.h"

#include <thread>

#include <gtest/gtest.h>
#include <boost/asio.hpp>

namespace rookery::camera {
namespace {

namespace asio = boost::asio;
using Seen = std::vector<std::uint64_t>;

FramePtr frame(std::uint64_t number) {
  return std::make_shared<const Frame>(std::vector<std::byte>(4, std::byte(number)), base::WallTime{},
                                       base::MonoTime{}, number, PixelSize{4, 3});
}

// Reads until the feed closes; notes each frame's number, and 0 for the null at the end.
asio::awaitable<void> watch(std::shared_ptr<FeedViewer> viewer, std::shared_ptr<Seen> seen) {
  for (;;) {
    const FramePtr got = co_await viewer->next();
    seen->push_back(got ? got->number : 0);
    if (!got) co_return;
  }
}

struct Watching {
  Watching(asio::any_io_executor executor, std::shared_ptr<Feed> feed)
      : viewer(std::make_shared<FeedViewer>(std::move(feed), executor)) {
    asio::co_spawn(
        executor, watch(viewer, seen),
        asio::bind_cancellation_slot(stop.slot(), [error = error](std::exception_ptr e) { *error = e; }));
  }

  std::shared_ptr<Seen> seen = std::make_shared<Seen>();
  std::shared_ptr<std::exception_ptr> error = std::make_shared<std::exception_ptr>();
  std::shared_ptr<FeedViewer> viewer;
  asio::cancellation_signal stop;
};

TEST(Feed, ANewViewerGetsTheLatestAtOnceAndNothingOlder) {
  asio::io_context context;
  const auto feed = std::make_shared<Feed>();
  feed->publish(frame(1));
  feed->publish(frame(2));
  const Watching watching(context.get_executor(), feed);
  context.poll();
  EXPECT_EQ(*watching.seen, Seen{2});
  EXPECT_EQ(watching.viewer->skipped(), 0u);
}

TEST(Feed, AViewerThatKeepsUpSeesEveryFrame) {
  asio::io_context context;
  const auto feed = std::make_shared<Feed>();
  const Watching watching(context.get_executor(), feed);
  for (std::uint64_t n = 1; n <= 5; ++n) {
    context.poll();
    feed->publish(frame(n));
  }
  context.poll();
  EXPECT_EQ(*watching.seen, (Seen{1, 2, 3, 4, 5}));
}

TEST(Feed, ASlowViewerSkipsAndKnowsHowMany) {
  asio::io_context context;
  const auto feed = std::make_shared<Feed>();
  const Watching watching(context.get_executor(), feed);
  context.poll();
  for (std::uint64_t n = 1; n <= 7; ++n) feed->publish(frame(n));
  context.poll();
  EXPECT_EQ(*watching.seen, Seen{7});
  EXPECT_EQ(watching.viewer->skipped(), 6u);
  EXPECT_EQ(feed->skipped(), 6u);
}

TEST(Feed, CloseWakesWithNullAndLetsNobodyWaitAgain) {
  asio::io_context context;
  const auto feed = std::make_shared<Feed>();
  const Watching before(context.get_executor(), feed);
  context.poll();
  feed->close();
  const Watching after(context.get_executor(), feed);
  context.poll();
  EXPECT_EQ(*before.seen, Seen{0});
  EXPECT_EQ(*after.seen, Seen{0});
  feed->publish(frame(1));
  EXPECT_EQ(feed->latest(), nullptr);
}

TEST(Feed, CancellationEndsAWaitWithOperationAborted) {
  asio::io_context context;
  const auto feed = std::make_shared<Feed>();
  Watching watching(context.get_executor(), feed);
  context.poll();
  watching.stop.emit(asio::cancellation_type::terminal);
  context.poll();
  ASSERT_TRUE(*watching.error);
  try {
    std::rethrow_exception(*watching.error);
  } catch (const boost::system::system_error& e) {
    EXPECT_EQ(e.code(), asio::error::operation_aborted);
  }
  feed->publish(frame(1));
  context.poll();
  EXPECT_TRUE(watching.seen->empty());
}

TEST(Feed, ViewersAreCounted) {
  asio::io_context context;
  const auto feed = std::make_shared<Feed>();
  EXPECT_EQ(feed->viewers(), 0u);
  {
    const FeedViewer one(feed, context.get_executor());
    const FeedViewer two(feed, context.get_executor());
    EXPECT_EQ(feed->viewers(), 2u);
  }
  EXPECT_EQ(feed->viewers(), 0u);
}

TEST(Feed, OutlivesAContextThatIsTornDownWhileViewersWait) {
  const auto feed = std::make_shared<Feed>();
  {
    asio::io_context context;
    const Watching watching(context.get_executor(), feed);
    context.poll();
    EXPECT_EQ(feed->viewers(), 1u);
  }
  EXPECT_EQ(feed->viewers(), 0u);
  feed->publish(frame(1));
  asio::io_context later;
  const Watching watching(later.get_executor(), feed);
  later.poll();
  EXPECT_EQ(*watching.seen, Seen{1});
}

TEST(Feed, ATapGetsEveryFrameUntilItsHandleDies) {
  const auto feed = std::make_shared<Feed>();
  Seen seen;
  auto tap = feed->tap([&](const FramePtr& f) { seen.push_back(f->number); });
  feed->publish(frame(1));
  feed->publish(frame(2));
  tap.reset();
  feed->publish(frame(3));
  EXPECT_EQ(seen, (Seen{1, 2}));
}

TEST(Feed, ATapThatThrowsHarmsNoOther) {
  const auto feed = std::make_shared<Feed>();
  Seen seen;
  const auto bad = feed->tap([](const FramePtr&) { throw std::runtime_error("the disk is full"); });
  const auto good = feed->tap([&](const FramePtr& f) { seen.push_back(f->number); });
  feed->publish(frame(1));
  EXPECT_EQ(seen, Seen{1});
}

TEST(Feed, NoCallRunsWhenATapsDestructorHasReturned) {
  const auto feed = std::make_shared<Feed>();
  std::atomic<bool> end = false;
  std::thread publisher([&] {
    for (std::uint64_t n = 1; !end; ++n) feed->publish(frame(n));
  });
  for (int round = 0; round < 200; ++round) {
    auto calls = std::make_unique<std::atomic<int>>(0);
    auto tap = feed->tap([&](const FramePtr&) { ++*calls; });
    while (*calls == 0) std::this_thread::yield();
    tap.reset();
    calls.reset();  // a late call would touch freed memory: the sanitizers would say so
  }
  end = true;
  publisher.join();
}

// The load that a busy station sees, on several threads: nothing is seen twice or out of order, and what was
// published is what was seen plus what was skipped.
TEST(Feed, ManyViewersOnManyThreadsAddUp) {
  constexpr int kViewers = 100;
  constexpr std::uint64_t kFrames = 500;
  asio::thread_pool pool(4);
  const auto feed = std::make_shared<Feed>();
  std::vector<std::unique_ptr<Watching>> all;
  for (int n = 0; n < kViewers; ++n) {
    all.push_back(std::make_unique<Watching>(asio::make_strand(pool.get_executor()), feed));
  }
  for (std::uint64_t n = 1; n <= kFrames; ++n) {
    feed->publish(frame(n));
    if (n % 16 == 0) std::this_thread::yield();
  }
  feed->close();
  pool.join();
  for (const auto& watching : all) {
    Seen& seen = *watching->seen;
    ASSERT_FALSE(seen.empty());
    EXPECT_EQ(seen.back(), 0u);
    seen.pop_back();
    if (seen.empty()) continue;  // the close came first
    EXPECT_EQ(std::ranges::adjacent_find(seen, std::ranges::greater_equal{}), seen.end());
    // A viewer that existed before the first frame counts from frame 1.
    EXPECT_EQ(seen.size() + watching->viewer->skipped(), seen.back());
  }
}

}  // namespace
}  // namespace rookery::camera
