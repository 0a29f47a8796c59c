#include "web/player.h"

#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace asio = boost::asio;
using archive::RecordedFrame;
using base::WallTime;
namespace {

// How long a gap is shown before playback goes on behind it (docs/formats/live-socket.md).
constexpr base::Milliseconds kGapShown{500};
// A page that draws nothing for longer (a hidden tab) finds the playback where it left it.
constexpr base::Milliseconds kPatience{1000};

// Where a `play` begins: the frame there, and whether a gap lies before it.
struct Beginning {
  std::optional<RecordedFrame> frame;
  std::optional<WallTime> gap_to;  // goes on there
  std::string_view end_reason;     // nothing further on
  std::optional<base::Error> error;
};

Beginning failed(base::Error error) {
  Beginning out;
  out.error = std::move(error);
  return out;
}

Beginning find_beginning(Reel& reel, WallTime at, bool forward) {
  Beginning out;
  auto found = reel.seek(at);
  if (!found) return failed(std::move(found).error());
  if (!found->has_value()) {
    out.end_reason = "nothing recorded";
    return out;
  }
  out.frame = std::move(*found);
  const WallTime there = out.frame->at;
  if (!forward) {
    if (there > at) {
      out.end_reason = "start";
    } else if (at - there > kGap) {
      out.gap_to = there;
    }
    return out;
  }
  if (there - at > kGap) out.gap_to = there;
  if (at - there <= kGap) return out;
  auto next = reel.peek_next();
  if (!next) return failed(std::move(next).error());
  if (next->has_value()) {
    out.gap_to = **next;
  } else {
    out.end_reason = "end";
  }
  return out;
}

// `frames` frames on from where the reel stands; the last one that there is.
Reel::Frame find_step(Reel& reel, int frames) {
  std::optional<RecordedFrame> last;
  for (int left = std::abs(frames); left > 0; --left) {
    auto moved = frames > 0 ? reel.next() : reel.previous();
    if (!moved) return moved;
    if (!moved->has_value()) break;
    last = std::move(*moved);
  }
  return last;
}

}  // namespace

Player::Player(asio::any_io_executor executor, station::Station& station, std::unique_ptr<Reel> reel,
               PlayPlace& place)
    : executor_(executor), station_(station), reel_(std::move(reel)), place_(place), timer_(executor) {}

bool Player::order(PlayOrder order) {
  if (order.kind == PlayOrder::play) orders_.clear();
  if (orders_.size() >= kOrdersMost) return false;
  orders_.push_back(order);
  timer_.cancel();
  place_.nudge();
  return true;
}

asio::awaitable<void> Player::run() {
  for (;;) {
    if (!orders_.empty()) {
      const PlayOrder order = orders_.front();
      orders_.pop_front();
      auto obeying = obey(order);
      co_await std::move(obeying);
    } else if (mode_ == Mode::playing) {
      auto playing = play_on();
      co_await std::move(playing);
    } else {
      auto sleeping = sleep(std::chrono::hours{24});
      co_await std::move(sleeping);
    }
  }
}

// Until then, or until an order comes.
asio::awaitable<void> Player::sleep(base::Microseconds time) {
  if (!orders_.empty()) co_return;
  boost::system::error_code woken;
  timer_.expires_after(time);
  auto waiting = timer_.async_wait(asio::redirect_error(asio::use_awaitable, woken));
  co_await std::move(waiting);
}

// True when a picture may be shown; false when an order came first (any, or only a newer `play`). Playback
// waits for a viewer who draws nothing for long, rather than running away.
asio::awaitable<bool> Player::until_ready(bool any_order) {
  const base::MonoTime began = now();
  while (!place_.ready()) {
    if (any_order ? !orders_.empty() : replaced()) co_return false;
    auto waiting = place_.wait();
    co_await std::move(waiting);
  }
  const auto waited = now() - began;
  if (waited > kPatience) clock_.since += waited - kPatience;
  co_return true;
}

asio::awaitable<void> Player::show(RecordedFrame frame) {
  current_ = frame.at;
  auto showing = place_.show(std::move(frame));
  co_await std::move(showing);
}

void Player::start_clock(WallTime at) {
  clock_.from = at;
  clock_.since = now();
}

void Player::tell_end(std::string_view reason, WallTime at) {
  mode_ = Mode::still;
  place_.tell({{"is", "end"}, {"at", base::to_rfc3339(at)}, {"reason", reason}});
}

void Player::tell_problem(const base::Error& error) {
  mode_ = Mode::still;
  place_.tell({{"is", "problem"}, {"problem", problem_of(error)}});
}

asio::awaitable<void> Player::obey(PlayOrder order) {
  switch (order.kind) {
    case PlayOrder::play: {
      auto beginning = begin(order);
      co_await std::move(beginning);
      break;
    }
    case PlayOrder::pause:
      mode_ = Mode::still;
      if (current_) place_.tell({{"is", "paused"}, {"at", base::to_rfc3339(*current_)}});
      break;
    case PlayOrder::step: {
      auto stepping = step(order.frames);
      co_await std::move(stepping);
      break;
    }
  }
}

asio::awaitable<void> Player::begin(PlayOrder order) {
  mode_ = Mode::still;
  clock_.speed = order.speed;
  auto find = [this, order] { return find_beginning(*reel_, order.at, order.speed > 0); };
  auto finding = run_on(station_.reading(), std::move(find));
  Beginning found = co_await std::move(finding);
  if (found.error) {
    tell_problem(*found.error);
    co_return;
  }
  if (!found.frame) {
    tell_end(found.end_reason, order.at);
    co_return;
  }
  if (found.gap_to) {
    current_ = order.at;
    mode_ = Mode::playing;
    auto crossing = cross_gap(*found.gap_to);
    co_await std::move(crossing);
    co_return;
  }
  auto waiting = until_ready(false);
  if (!co_await std::move(waiting)) co_return;
  const WallTime at = found.frame->at;
  if (found.end_reason.empty()) {
    mode_ = Mode::playing;
    start_clock(at);
    place_.tell({{"is", "playing"}, {"at", base::to_rfc3339(at)}, {"speed", clock_.speed}});
  }
  auto showing = show(std::move(*found.frame));
  co_await std::move(showing);
  if (!found.end_reason.empty()) tell_end(found.end_reason, at);
}

asio::awaitable<void> Player::step(int frames) {
  mode_ = Mode::still;
  if (!current_) co_return;
  while (!place_.ready()) {
    auto waiting = place_.wait();
    co_await std::move(waiting);
    if (replaced()) co_return;
  }
  auto find = [this, frames] { return find_step(*reel_, frames); };
  auto finding = run_on(station_.reading(), std::move(find));
  Reel::Frame found = co_await std::move(finding);
  if (!found) {
    tell_problem(found.error());
    co_return;
  }
  if (!found->has_value()) {
    tell_end(frames > 0 ? "end" : "start", *current_);
    co_return;
  }
  auto showing = show(std::move(**found));
  co_await std::move(showing);
  place_.tell({{"is", "paused"}, {"at", base::to_rfc3339(*current_)}});
}

asio::awaitable<void> Player::play_on() {
  auto waiting = until_ready(true);
  if (!co_await std::move(waiting)) co_return;
  const WallTime target = clock_.target(now());
  auto think = [this, target, speed = clock_.speed, current = *current_] {
    return look(*reel_, current, target, speed);
  };
  auto thinking = run_on(station_.reading(), std::move(think));
  Look next = co_await std::move(thinking);
  if (replaced()) co_return;  // any other order finds the reel and the picture at one place
  switch (next.what) {
    case Look::show: {
      auto showing = show(std::move(*next.frame));
      co_await std::move(showing);
      break;
    }
    case Look::wait: {
      auto sleeping = sleep(clock_.due_in(next.until, now()));
      co_await std::move(sleeping);
      break;
    }
    case Look::gap: {
      auto crossing = cross_gap(next.until);
      co_await std::move(crossing);
      break;
    }
    case Look::end:
      tell_end(clock_.speed > 0 ? "end" : "start", *current_);
      break;
    case Look::failed:
      tell_problem(*next.error);
      break;
  }
}

asio::awaitable<void> Player::cross_gap(WallTime to) {
  const auto [from, until] = std::minmax(*current_, to);
  place_.tell({{"is", "gap"}, {"from", base::to_rfc3339(from)}, {"to", base::to_rfc3339(until)}});
  const base::MonoTime go_on = now() + kGapShown;
  while (now() < go_on) {
    if (!orders_.empty()) co_return;
    auto sleeping = sleep(std::chrono::ceil<base::Microseconds>(go_on - now()));
    co_await std::move(sleeping);
  }
  auto waiting = until_ready(true);
  if (!co_await std::move(waiting)) co_return;
  auto find = [this, to] { return reel_->seek(to); };
  auto finding = run_on(station_.reading(), std::move(find));
  Reel::Frame found = co_await std::move(finding);
  if (!found) {
    tell_problem(found.error());
    co_return;
  }
  if (!found->has_value()) {
    tell_end("nothing recorded", to);
    co_return;
  }
  if (replaced()) co_return;
  start_clock((*found)->at);
  place_.tell({{"is", "playing"}, {"at", base::to_rfc3339((*found)->at)}, {"speed", clock_.speed}});
  auto showing = show(std::move(**found));
  co_await std::move(showing);
}

}  // namespace rookery::web
