#include "camera/gap_watch.h"

#include <algorithm>

#include <boost/asio.hpp>

#include "camera/gap_probe.h"
#include "camera/pull_books.h"

namespace rookery::camera {

namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;

// How an attempt ended that got no answer.
AttemptEnd end_without_head(const Error& error, const net::HttpClient& client) {
  if (client.looked_up_in_vain()) return AttemptEnd::no_name;
  if (client.connected_but_unheard()) {
    if (error.code == ErrorCode::timed_out) return AttemptEnd::unheard;
    if (error.code == ErrorCode::closed) return AttemptEnd::closed_unheard;
  }
  switch (error.code) {
    case ErrorCode::refused:
      return AttemptEnd::refused;
    case ErrorCode::unreachable:
    case ErrorCode::timed_out:
      return AttemptEnd::no_answer;
    case ErrorCode::malformed:
    case ErrorCode::too_large:
    case ErrorCode::unsupported:
      return AttemptEnd::no_pictures;
    default:
      return AttemptEnd::other;
  }
}

// How one ended that was answered.
AttemptEnd end_with_head(const Error& error, const net::HttpClient& client, bool any_part_came) {
  switch (error.code) {
    case ErrorCode::timed_out:
      return any_part_came ? AttemptEnd::silence : AttemptEnd::unheard;
    case ErrorCode::closed:
      if (client.was_reset()) return AttemptEnd::reset;
      return error.detail == kEndedInOrder ? AttemptEnd::closed : AttemptEnd::cut;
    case ErrorCode::malformed:
    case ErrorCode::too_large:
      return AttemptEnd::no_pictures;
    default:
      return AttemptEnd::other;
  }
}

// It may be found somewhere else than before.
void GapWatch::note_peer() {
  const auto now = client_.last_peer();
  if (peer_ && now && now->address() != peer_->address()) books_.moved();
  peer_ = now;
}

// Looks once a second whether pictures stopped, and asks the board while they are missing.
// Lent: `self` is a part of `owner`, which is held to the end.
asio::awaitable<void> GapWatch::run([[maybe_unused]] std::shared_ptr<void> owner, GapWatch& self) {
  asio::steady_timer timer(co_await asio::this_coro::executor);
  for (;;) {
    timer.expires_after(self.limits_.look);
    auto waiting = timer.async_wait(asio::use_awaitable);
    co_await std::move(waiting);
    self.note_gaps(
        std::chrono::duration_cast<base::Microseconds>(std::chrono::steady_clock::now() - timer.expiry()));
    if (!self.gap_since_) continue;
    auto probing = self.probe(*self.gap_since_);
    co_await std::move(probing);
  }
}

void GapWatch::note_gaps(base::Microseconds late) {
  std::optional<LinkSample> link;
  if (const auto tcp = client_.tcp_vitals()) {
    link.emplace();
    link->round_trip = tcp->receive_round_trip.count() > 0 ? tcp->receive_round_trip : tcp->round_trip;
    link->since_last_ack = std::min(tcp->since_last_ack, tcp->since_last_data);
    link->segments = tcp->segments_in;
    link->out_of_order = tcp->out_of_order_in;
  }
  PullBooks::GapLook look = books_.look_for_gaps(link, late);
  gap_since_ = look.gap_since;
  if (shared_.gaps) {
    if (look.last_picture && peer_)
      shared_.gaps->gives_pictures(books_.name(), network_of(peer_->address()), *look.last_picture);
    if (look.began) shared_.gaps->stopped(books_.name(), *look.began);
    if (look.over) {
      look.over->others = shared_.gaps->others(books_.name(), look.over->began);
      look.over->announced = shared_.gaps->has_announced(books_.name(), look.over->began);
    }
  }
  if (look.over && shared_.on_dropout) shared_.on_dropout(*look.over);
}

asio::awaitable<void> GapWatch::probe(base::MonoTime gap_began) {
  const auto now = std::chrono::steady_clock::now();
  if (!peer_ || !books_.long_since(gap_began, limits_.ask_after)) co_return;
  const auto due = [this, now](ProbeKind kind) {
    auto& last = probed_.at(static_cast<std::size_t>(kind));
    if (last && now - *last < kProbeEvery) return false;
    last = now;
    return true;
  };
  if (due(ProbeKind::echo)) {
    auto pinging = probe_echo(peer_->address());
    const ProbeResult result = co_await std::move(pinging);
    books_.probed(ProbeKind::echo, result.answer, result.took);
  }
  if (due(ProbeKind::connect)) {
    auto connecting = probe_connect(*peer_);
    const ProbeResult result = co_await std::move(connecting);
    books_.probed(ProbeKind::connect, result.answer, result.took);
  }
}

}  // namespace rookery::camera
