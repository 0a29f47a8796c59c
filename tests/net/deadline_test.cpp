#include "net/deadline.h"

#include <gtest/gtest.h>

#include "net/supervise.h"
#include "net/watchdog.h"
#include "tests/net/net_support.h"

namespace rookery::net {
namespace {

namespace asio = boost::asio;
using namespace std::chrono_literals;
using test::run;

asio::awaitable<int> after(std::chrono::milliseconds pause, int value) {
  asio::steady_timer timer(co_await asio::this_coro::executor, pause);
  auto waiting = timer.async_wait(asio::use_awaitable);
  co_await std::move(waiting);
  co_return value;
}

asio::awaitable<int> throwing() {
  auto soon = after(1ms, 0);
  co_await std::move(soon);
  throw std::runtime_error("the disk is full");
}

TEST(WithDeadline, GivesTheValueInTime) {
  asio::io_context context;
  EXPECT_EQ(run(context, with_deadline(after(1ms, 7), 1h)), 7);
}

TEST(WithDeadline, GivesNothingWhenTheTimeIsUp) {
  asio::io_context context;
  EXPECT_EQ(run(context, with_deadline(after(1h, 7), 1ms)), std::nullopt);
}

TEST(WithDeadline, PassesAnExceptionOnAtOnce) {
  asio::io_context context;
  EXPECT_THROW(run(context, with_deadline(throwing(), 1h)), std::runtime_error);
}

TEST(WithDeadline, OuterCancellationIsNoTimeOut) {
  asio::io_context context;
  asio::cancellation_signal stop;
  std::exception_ptr error;
  asio::co_spawn(context, with_deadline(after(1h, 7), 1h),
                 asio::bind_cancellation_slot(stop.slot(),
                                              [&](std::exception_ptr e, std::optional<int>) { error = e; }));
  context.poll();
  stop.emit(asio::cancellation_type::terminal);
  context.run();
  ASSERT_TRUE(error);
  try {
    std::rethrow_exception(error);
  } catch (const boost::system::system_error& e) {
    EXPECT_EQ(e.code(), asio::error::operation_aborted);
  }
}

TEST(Watchdog, BitesOnceWhenNothingTouchesIt) {
  asio::io_context context;
  int bites = 0;
  Watchdog dog(context.get_executor(), [&] { ++bites; });
  dog.arm(1ms);
  EXPECT_FALSE(dog.bitten());
  context.run();
  EXPECT_EQ(bites, 1);
  EXPECT_TRUE(dog.bitten());
  dog.arm(1h);
  EXPECT_FALSE(dog.bitten());
}

TEST(Watchdog, AShorterLimitReplacesALongerOne) {
  asio::io_context context;
  int bites = 0;
  Watchdog dog(context.get_executor(), [&] { ++bites; });
  dog.arm(1h);
  dog.arm(1ms);
  context.run_one_for(10s);
  while (bites == 0 && context.run_one_for(10s) > 0) {
  }
  EXPECT_EQ(bites, 1);
}

TEST(Watchdog, LooksAgainWhenTouched) {
  asio::io_context context;
  int bites = 0;
  Watchdog dog(context.get_executor(), [&] { ++bites; });
  dog.arm(20ms);
  const auto began = std::chrono::steady_clock::now();
  asio::steady_timer toucher(context, 10ms);
  toucher.async_wait([&](const boost::system::error_code&) { dog.touch(); });
  context.run();
  EXPECT_EQ(bites, 1);
  EXPECT_GE(std::chrono::steady_clock::now() - began, 30ms);
}

TEST(Watchdog, ADisarmedOneIsSilentAndADeadOneToo) {
  asio::io_context context;
  int bites = 0;
  Watchdog dog(context.get_executor(), [&] { ++bites; });
  dog.arm(1ms);
  dog.disarm();
  {
    Watchdog dead(context.get_executor(), [&] { ++bites; });
    dead.arm(1ms);
  }
  context.run();
  EXPECT_EQ(bites, 0);
}

asio::awaitable<void> count_and_throw(std::shared_ptr<int> runs) {
  ++*runs;
  auto soon = after(1ms, 0);
  co_await std::move(soon);
  if (*runs < 4) throw std::runtime_error("a bug");
}

asio::awaitable<void> wait_for_ever(std::shared_ptr<int> runs) {
  ++*runs;
  auto long_wait = after(1h, 0);
  co_await std::move(long_wait);
}

TEST(Supervise, StartsAgainAfterAnExceptionAndEndsWithTheTask) {
  asio::io_context context;
  const auto runs = std::make_shared<int>(0);
  const Supervised handle =
      supervise(context.get_executor(), "test", [runs] { return count_and_throw(runs); }, {1ms, 4ms});
  context.run();
  EXPECT_EQ(*runs, 4);
  EXPECT_TRUE(handle.ended());
}

TEST(Supervise, StopEndsItOnceAndForAll) {
  asio::io_context context;
  const auto runs = std::make_shared<int>(0);
  Supervised handle = supervise(context.get_executor(), "test", [runs] { return wait_for_ever(runs); });
  context.poll();
  EXPECT_FALSE(handle.ended());
  EXPECT_FALSE(handle.wait_for(1ms));
  handle.stop();
  handle.stop();
  context.run();
  EXPECT_EQ(*runs, 1);
  EXPECT_TRUE(handle.wait_for(1ms));
}

TEST(Supervise, StopBeforeTheFirstStepIsHeard) {
  asio::io_context context;
  const auto runs = std::make_shared<int>(0);
  Supervised handle = supervise(context.get_executor(), "test", [runs] { return wait_for_ever(runs); });
  handle.stop();
  context.run();
  EXPECT_TRUE(handle.ended());
}

TEST(Supervise, StopDuringThePauseIsHeard) {
  asio::io_context context;
  const auto runs = std::make_shared<int>(0);
  Supervised handle =
      supervise(context.get_executor(), "test", [runs] { return count_and_throw(runs); }, {10min, 10min});
  while (*runs == 0) context.run_one();
  context.run_one_for(1s);
  context.poll();
  handle.stop();
  context.run();
  EXPECT_TRUE(handle.ended());
  EXPECT_EQ(*runs, 1);
}

TEST(Supervise, AHandleMayDieBeforeItsTaskEnds) {
  asio::io_context context;
  const auto runs = std::make_shared<int>(0);
  {
    const Supervised gone = supervise(context.get_executor(), "test", [runs] { return wait_for_ever(runs); });
  }
  { const Supervised idle; }
  context.run();
  EXPECT_EQ(runs.use_count(), 1) << "the task and what it owned are gone";
}

}  // namespace
}  // namespace rookery::net
