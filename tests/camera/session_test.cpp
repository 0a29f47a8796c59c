#include "camera/session.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;
using base::Error;
using base::ErrorCode;
using base::MonoTime;
using Order = Session::Order;

const MonoTime kStart{100h};
const Error kRefused(ErrorCode::refused, "bobbin", "connection refused");

struct Driven {
  explicit Driven(SessionPlan plan = {}, SessionLimits limits = {}) : session(plan, limits, 1, kStart) {}

  // An attempt that fails before a picture came.
  void fail() {
    session.opening(now);
    session.ended(now, kRefused);
  }
  // An attempt that is live.
  void go_live() {
    session.opening(now);
    session.opened(now);
    session.frame(now);
  }
  State state() const { return session.seen(now).state; }
  Order order() const { return session.next(now).order; }
  void frames_for(std::chrono::milliseconds length, std::chrono::milliseconds every = 100ms) {
    for (const MonoTime end = now + length; now < end;) {
      now += every;
      session.frame(now);
    }
  }

  MonoTime now = kStart;
  Session session;
};

TEST(Session, IsOffUntilStarted) {
  Driven d;
  EXPECT_EQ(d.state(), State::off);
  EXPECT_EQ(d.order(), Order::idle);
  d.session.start(d.now);
  EXPECT_EQ(d.state(), State::connecting);
  EXPECT_EQ(d.order(), Order::open);
}

TEST(Session, NeverOpensTwice) {
  Driven d;
  d.session.start(d.now);
  d.session.opening(d.now);
  EXPECT_EQ(d.order(), Order::idle);
  d.session.stop(d.now);
  d.session.start(d.now);
  EXPECT_EQ(d.order(), Order::idle) << "the old socket is not closed yet";
  EXPECT_TRUE(d.session.must_end());
  d.session.ended(d.now, std::nullopt);
  EXPECT_EQ(d.order(), Order::open);
  EXPECT_FALSE(d.session.must_end());
}

TEST(Session, TellsItsStateByAWord) {
  Driven d;
  d.session.start(d.now);
  d.session.opening(d.now);
  EXPECT_EQ(d.state(), State::connecting);
  d.session.opened(d.now);
  EXPECT_EQ(d.state(), State::connecting);
  d.now += 50ms;
  d.session.frame(d.now);
  EXPECT_EQ(d.state(), State::live);
  EXPECT_EQ(d.session.seen(d.now).since, d.now);
  d.frames_for(1s);
  EXPECT_EQ(d.session.seen(d.now).since, kStart + 50ms);
  const MonoTime last = d.now;
  d.now += 1999ms;
  EXPECT_EQ(d.state(), State::live);
  d.now += 1ms;
  EXPECT_EQ(d.state(), State::silent);
  EXPECT_EQ(d.session.seen(d.now).since, last + 2s);
  d.session.frame(d.now);
  EXPECT_EQ(d.state(), State::live);
  EXPECT_EQ(d.session.seen(d.now).since, d.now);
  EXPECT_EQ(d.session.lost(), 0u);
  d.session.ended(d.now, kRefused);
  EXPECT_EQ(d.state(), State::waiting);
  EXPECT_EQ(d.session.lost(), 1u);
  EXPECT_EQ(d.session.last_error(), kRefused);
  d.session.stop(d.now);
  EXPECT_EQ(d.state(), State::off);
}

TEST(Session, ASlowCameraIsNotSilentBetweenFrames) {
  Driven d;
  d.session.start(d.now);
  d.go_live();
  d.frames_for(20s, 1s);
  d.now += 4s;
  EXPECT_EQ(d.state(), State::live);
  d.now += 1s;
  EXPECT_EQ(d.state(), State::silent);
}

TEST(Session, SilentWhenTheBoardAnswersAndSendsNothing) {
  Driven d;
  d.session.start(d.now);
  d.session.opening(d.now);
  d.session.opened(d.now);
  d.now += 2s;
  EXPECT_EQ(d.state(), State::silent);
}

TEST(Session, BacksOffLongerEachTimeUpToTheBound) {
  SessionLimits limits;
  Driven d({}, limits);
  d.session.start(d.now);
  std::chrono::milliseconds longest = limits.backoff_first;
  for (int n = 0; n < 12; ++n) {
    ASSERT_EQ(d.order(), Order::open);
    d.fail();
    EXPECT_EQ(d.state(), State::waiting);
    const MonoTime retry = *d.session.seen(d.now).retry_at;
    EXPECT_GE(retry - d.now, longest / 2);
    EXPECT_LE(retry - d.now, longest);
    EXPECT_EQ(d.order(), Order::wait);
    EXPECT_EQ(d.session.next(d.now).until, retry);
    d.now = retry;
    longest = std::min(longest * 2, limits.backoff_most);
  }
}

TEST(Session, ConnectingWellDoesNotResetTheBackOffButHealthyFramesDo) {
  Driven d;
  d.session.start(d.now);
  for (int n = 0; n < 5; ++n) {
    d.go_live();
    d.frames_for(3s);  // a board that restarts every three seconds
    d.session.ended(d.now, kRefused);
    d.now = *d.session.seen(d.now).retry_at;
  }
  const auto pause_after = [&](std::chrono::milliseconds frames) {
    d.go_live();
    d.frames_for(frames);
    d.session.ended(d.now, kRefused);
    const auto pause = *d.session.seen(d.now).retry_at - d.now;
    d.now += pause;
    return pause;
  };
  // Half of a pause is jitter: the sixth is at least 16 times the shortest, the first at most twice that.
  EXPECT_GE(pause_after(3s), 8s);
  EXPECT_LE(pause_after(5s), 500ms);
  EXPECT_EQ(d.session.lost(), 7u);
}

TEST(Session, AnotherAddressConnectsAtOnce) {
  Driven d;
  d.session.start(d.now);
  for (int n = 0; n < 6; ++n) {
    d.fail();
    d.now = *d.session.seen(d.now).retry_at;
  }
  d.fail();
  EXPECT_EQ(d.order(), Order::wait);
  d.session.replan({}, d.now);
  EXPECT_EQ(d.order(), Order::open);
  d.go_live();
  d.session.replan({}, d.now);
  EXPECT_TRUE(d.session.must_end());
  EXPECT_EQ(d.state(), State::connecting);
  d.session.frame(d.now);  // of the old board, still under way
  EXPECT_EQ(d.state(), State::connecting);
  d.session.ended(d.now, kRefused);
  EXPECT_EQ(d.order(), Order::open);
  EXPECT_EQ(d.session.lost(), 0u) << "a person's doing is no dropout";
  EXPECT_FALSE(d.session.last_error().has_value());
}

TEST(Session, GivesUpWhereBytesComeButNoPicture) {
  Driven d;
  d.session.start(d.now);
  d.session.opening(d.now);
  d.session.opened(d.now);
  EXPECT_EQ(d.session.give_up_at(), d.now + 30s);
  d.frames_for(10s);
  EXPECT_EQ(d.session.give_up_at(), d.now + 30s);
}

TEST(Session, PollsOnAGridWithoutDriftOrBursts) {
  Driven d({Source::stills, 1000ms});
  d.session.start(d.now);
  for (int n = 0; n < 10; ++n) {
    ASSERT_EQ(d.order(), Order::open);
    EXPECT_EQ(d.now, kStart + n * 1s);
    d.session.opening(d.now);
    d.session.opened(d.now);
    d.now += 161ms;  // what a board takes for a still
    d.session.frame(d.now);
    d.session.rested(d.now);
    EXPECT_EQ(d.state(), State::live);
    EXPECT_EQ(d.order(), Order::wait);
    d.now = d.session.next(d.now).until;
  }
  // One that took longer than the period: the slots in between are left out.
  d.session.opening(d.now);
  d.now += 2500ms;
  d.session.rested(d.now);
  EXPECT_EQ(d.session.next(d.now).until, kStart + 13s);
}

TEST(Session, AFailedPollWaitsForTheBackOffAndTheGrid) {
  Driven d({Source::stills, 1000ms});
  d.session.start(d.now);
  d.fail();
  EXPECT_EQ(d.session.next(d.now).until, kStart + 1s);
  EXPECT_EQ(d.state(), State::waiting);
  EXPECT_EQ(d.session.seen(d.now).retry_at, kStart + 1s);
}

TEST(Session, AStreamThatTurnsOutSingleIsPolled) {
  Driven d({Source::stream, 1000ms});
  d.session.start(d.now);
  d.session.opening(d.now);
  d.session.opened(d.now);
  d.session.turned_out_single(d.now);
  d.session.frame(d.now);
  d.session.rested(d.now);
  EXPECT_TRUE(d.session.polling());
  EXPECT_EQ(d.session.next(d.now).until, kStart + 1s);
  d.session.replan({Source::stream, 1000ms}, d.now);
  EXPECT_FALSE(d.session.polling());
}

TEST(Session, APushingBoardIsNeverAskedAndSleepsInBetween) {
  Driven d({Source::pushed, 1000ms});
  d.session.start(d.now);
  EXPECT_EQ(d.order(), Order::idle);
  EXPECT_EQ(d.state(), State::asleep);
  d.session.frame(d.now);
  EXPECT_EQ(d.state(), State::live);
  d.now += 1min;
  EXPECT_EQ(d.state(), State::asleep);
  d.session.frame(d.now);
  EXPECT_EQ(d.state(), State::live);
  d.now += 4min;
  EXPECT_EQ(d.state(), State::live) << "a still a minute is its habit";
}

// Any order of events that a carrier can bring about keeps the promises.
RC_GTEST_PROP(SessionProperty, PromisesHoldUnderAnyEvents, ()) {
  const auto source = *rc::gen::element(Source::stream, Source::stills, Source::pushed);
  SessionLimits limits;
  SessionPlan plan{source, std::chrono::milliseconds(*rc::gen::inRange(100, 5000))};
  Session session(plan, limits, *rc::gen::arbitrary<std::uint64_t>(), kStart);
  MonoTime now = kStart;
  bool wanted = false;
  int open = 0;
  std::uint64_t lost = 0;
  for (const int event : *rc::gen::container<std::vector<int>>(rc::gen::inRange(0, 9))) {
    now += std::chrono::milliseconds(*rc::gen::inRange(0, 4000));
    const bool overtaken = session.must_end();
    switch (event) {
      case 0:
        session.start(now);
        wanted = true;
        break;
      case 1:
        session.stop(now);
        wanted = false;
        break;
      case 2:
        session.replan(plan, now);
        break;
      case 3:
      case 4:
        if (session.next(now).order == Order::open) {
          session.opening(now);
          ++open;
        }
        break;
      case 5:
        if (open != 0) session.opened(now);
        break;
      case 6:
        if (open != 0) session.frame(now);
        break;
      case 7:
        if (open != 0) {
          session.ended(now, kRefused);
          --open;
          const auto retry = session.next(now);
          if (overtaken || !wanted) {
            RC_ASSERT(retry.order != Order::wait || session.polling());
          } else {
            RC_ASSERT(retry.order == Order::wait);
            RC_ASSERT(retry.until >= now + limits.backoff_first / 2);
            RC_ASSERT(retry.until <=
                      now + std::max<std::chrono::milliseconds>(limits.backoff_most, plan.poll_every));
          }
        }
        break;
      default:
        if (open != 0 && session.polling()) {
          session.rested(now);
          --open;
        }
    }
    RC_ASSERT(open == 0 || open == 1);
    RC_ASSERT(session.under_way() == (open == 1));
    if (open == 1) RC_ASSERT(session.next(now).order == Order::idle);
    const Session::Seen seen = session.seen(now);
    RC_ASSERT((seen.state == State::off) == !wanted);
    RC_ASSERT(seen.since <= now);
    RC_ASSERT((seen.state == State::waiting) == seen.retry_at.has_value());
    if (seen.state == State::waiting) RC_ASSERT(open == 0);
    if (source == Source::pushed) RC_ASSERT(open == 0);
    RC_ASSERT(session.lost() >= lost);
    lost = session.lost();
  }
}

}  // namespace
}  // namespace rookery::camera
