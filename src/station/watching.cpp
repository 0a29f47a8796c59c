#include "station/watching.h"

#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "jpeg/luma_grid.h"
#include "station/post_guarded.h"

namespace rookery::station {
namespace {

// More turns would wake the processor more often than they save.
constexpr std::size_t kTurns = 10;

// Of the pictures that one thread looks at; kept for their memory.
thread_local jpeg::LumaGrid first_grid;
thread_local jpeg::LumaGrid second_grid;

}  // namespace

Watching::Watching(const CameraSet& cameras, archive::EventStore& events, archive::StripStore& strips,
                   archive::MotionStateStore& states, boost::asio::thread_pool& workers,
                   const base::Clock& clock, std::chrono::milliseconds every, Tell tell)
    : cameras_(cameras),
      events_(events),
      strips_(strips),
      states_(states),
      workers_(workers),
      clock_(clock),
      every_(every),
      tell_(std::move(tell)) {}

boost::asio::awaitable<void> Watching::run() {
  boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
  auto due = std::chrono::steady_clock::now();
  for (std::size_t turn = 0;;) {
    // A few cameras need no more turns than there are of them: each turn wakes the processor.
    const std::size_t turns = std::clamp<std::size_t>(cameras_.count(), 1, kTurns);
    // By the time that was due, not by the time it is, so that no delay adds up; what was missed is left out.
    due = std::max(due + every_ / static_cast<int>(turns), std::chrono::steady_clock::now());
    timer.expires_at(due);
    auto waiting = timer.async_wait(boost::asio::use_awaitable);
    co_await std::move(waiting);
    turn = (turn + 1) % turns;
    const auto all = cameras_.all();
    std::vector<Place> places;
    for (std::size_t i = turn; i < all.size(); i += turns) {
      if (all[i].second->looking.exchange(true)) continue;  // the last look is not done: the workers are busy
      places.push_back(all[i]);
      if (places.size() == 2) look_at(std::exchange(places, {}));
    }
    if (!places.empty()) look_at(std::move(places));
  }
}

// One place or two: two pictures are decoded faster together than one after the other.
void Watching::look_at(std::vector<Place> places) {
  post_guarded(workers_, "watch", [this, places = std::move(places)] {
    const Busy first_until_done(places.front().second->looking);
    const Busy second_until_done(places.back().second->looking);
    if (places.size() == 2) return look_at_both(places[0], places[1]);
    const Place& place = places.front();
    const auto frame = place.second->pull.feed()->latest();
    const bool can_be_seen =
        place.second->watch.is_new(frame) && jpeg::compute_luma_grid(frame->view(), first_grid);
    look(place, frame, can_be_seen ? &first_grid : nullptr);
  });
}

void Watching::look_at_both(const Place& first, const Place& second) {
  const auto first_frame = first.second->pull.feed()->latest();
  const auto second_frame = second.second->pull.feed()->latest();
  const bool first_new = first.second->watch.is_new(first_frame);
  const bool second_new = second.second->watch.is_new(second_frame);
  bool first_seen = false;
  bool second_seen = false;
  if (first_new && second_new) {
    const auto done =
        jpeg::compute_luma_grids(first_frame->view(), first_grid, second_frame->view(), second_grid);
    first_seen = done.first.has_value();
    second_seen = done.second.has_value();
  } else if (first_new) {
    first_seen = jpeg::compute_luma_grid(first_frame->view(), first_grid).has_value();
  } else if (second_new) {
    second_seen = jpeg::compute_luma_grid(second_frame->view(), second_grid).has_value();
  }
  look(first, first_frame, first_seen ? &first_grid : nullptr);
  look(second, second_frame, second_seen ? &second_grid : nullptr);
}

void Watching::look(const Place& place, const camera::FramePtr& frame, const jpeg::LumaGrid* grid) {
  const camera::Status status = place.second->pull.status();
  const Watch::Now now{status, cameras_.settings_of(*place.second).source, clock_.wall(), clock_.mono()};
  carry_out(place, place.second->watch.look(frame, grid, now), frame);
  save(place.first, *place.second, now.mono);
}

void Watching::carry_out(const Place& place, const Watch::Seen& seen, const camera::FramePtr& frame) {
  if (seen.mark) strips_.put_later(place.first, seen.mark->at, seen.mark->step);
  if (!seen.moving && seen.changes.empty()) return;
  const camera::Settings settings = cameras_.settings_of(*place.second);
  if (seen.moving) {
    place.second->recording.want(seen.moving->from - settings.pre_roll,
                                 seen.moving->until + settings.post_roll);
  }
  for (const EventChange& change : seen.changes) {
    events_.put_later(change.event);
    tell_(change.event, settings.title, frame);
  }
}

void Watching::save(const base::CameraName& name, Entry& entry, base::MonoTime now) {
  if (now - entry.state_saved < kSaveEvery) return;
  entry.state_saved = now;
  states_.put_later(name, entry.watch.save(), clock_.wall());
}

void Watching::end(const base::CameraName& name, Entry& entry) {
  for (const EventChange& change : entry.watch.finish()) {
    events_.put_later(change.event);
    tell_(change.event, entry.settings.title, nullptr);
  }
  states_.put_later(name, entry.watch.save(), clock_.wall());
}

}  // namespace rookery::station
