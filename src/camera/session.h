// Session: the decisions about one board's connection - when to connect, how long to back off, when to give
// up, what word describes it - as a state machine without I/O or clock. pull.cpp carries out what it says.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <random>

#include "base/result.h"
#include "base/time.h"
#include "camera/settings.h"
#include "camera/status.h"

namespace rookery::camera {

struct SessionLimits {
  std::chrono::milliseconds backoff_first{500};
  std::chrono::milliseconds backoff_most{30000};
  // Frames have to come for this long before a failure counts as the first again: a board that restarts every
  // few seconds connects well each time.
  std::chrono::milliseconds healthy_after{5000};
  // A connection that carries bytes but no whole picture for this long is given up.
  std::chrono::milliseconds fruitless{30000};
  // Without a frame for the greater of this and 5 usual intervals, the state is `silent`.
  std::chrono::milliseconds silent_after{2000};
};

// What of the settings the session has to know.
struct SessionPlan {
  Source source = Source::stream;
  std::chrono::milliseconds poll_every{1000};
};

// strand-bound (pull.cpp guards it with a mutex). Every call takes the time on the monotonic clock; times
// never fall.
class Session {
 public:
  enum class Order {
    idle,  // nothing until start(), replan() or the like
    wait,  // look again at `until`
    open,  // begin an attempt now: opening(), … , then ended() or rested()
  };
  struct Next {
    Order order = Order::idle;
    base::MonoTime until{};
  };
  struct Seen {
    State state = State::off;
    base::MonoTime since{};
    std::optional<base::MonoTime> retry_at;
  };

  Session(SessionPlan plan, SessionLimits limits, std::uint64_t seed, base::MonoTime now);

  // By a person. When an attempt is under way, it has to be ended first: must_end() tells.
  void start(base::MonoTime now);
  void stop(base::MonoTime now);
  void replan(SessionPlan plan,
              base::MonoTime now);  // another address, source or sign-in: at once, without back-off

  // What the carrier has to do now. Never `open` while an attempt is under way.
  Next next(base::MonoTime now) const;
  // The attempt that is under way was overtaken by stop() or replan(): close its socket, then call ended().
  bool must_end() const { return under_way_ && overtaken_; }
  // A connection without whole pictures is given up at this time. Only while an attempt is under way.
  base::MonoTime give_up_at() const;

  // By the carrier, in this order: opening, opened, frame …, and at last one of ended and rested.
  void opening(base::MonoTime now);
  void opened(base::MonoTime now);  // the head of a good answer has come
  void frame(base::MonoTime now);   // a picture was published; also for pushed stills, at any time
  void turned_out_single(
      base::MonoTime now);          // the stream address answers with one still: poll it from now on
  void rested(base::MonoTime now);  // a polled exchange is complete; the socket may stay open
  void ended(base::MonoTime now, std::optional<base::Error> error);  // the socket is closed; none: overtaken

  Seen seen(base::MonoTime now) const;
  bool polling() const { return polling_; }
  bool under_way() const { return under_way_; }
  const std::optional<base::Error>& last_error() const& { return last_error_; }
  const std::optional<base::Error>& last_error() const&& = delete;
  std::uint64_t lost() const { return lost_; }

 private:
  std::chrono::nanoseconds silent_threshold() const;
  void advance_slot(base::MonoTime now);
  std::chrono::nanoseconds backoff();

  SessionPlan plan_;
  SessionLimits limits_;
  std::mt19937_64 random_;

  bool wanted_ = false;
  bool polling_ = false;
  bool under_way_ = false;
  bool overtaken_ = false;
  bool live_ = false;       // a frame came and no failure since
  base::MonoTime changed_;  // when off, connecting or waiting began
  base::MonoTime opened_at_;
  bool opened_ = false;
  std::optional<base::MonoTime> retry_at_;
  base::MonoTime slot_;  // of the next poll
  std::optional<base::MonoTime> last_frame_;
  base::MonoTime live_since_;
  base::MonoTime run_began_;                       // first frame since the last failure
  std::optional<std::chrono::nanoseconds> usual_;  // between frames, smoothed
  int failures_ = 0;                               // in a row, since frames last came for long enough
  std::uint64_t lost_ = 0;
  std::optional<base::Error> last_error_;
};

}  // namespace rookery::camera
