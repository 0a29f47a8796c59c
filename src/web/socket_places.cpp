// The picture places of a page: what its orders do to them, live pictures and playbacks.
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "jpeg/walk.h"
#include "web/socket.h"

namespace rookery::web {
namespace asio = boost::asio;
namespace json = boost::json;
using boost::system::error_code;

SocketSession::Place::Place(SocketSession& session, int slot_, base::CameraName camera_, int width)
    : slot(slot_),
      camera(std::move(camera_)),
      width_px(width),
      wake(session.connection_.executor(), asio::steady_timer::time_point::max()),
      session_(session) {}

bool SocketSession::Place::ready() const {
  return gone || (session_.credits_.slot_is_free(slot) && session_.has_room());
}

asio::awaitable<void> SocketSession::Place::wait() {
  error_code woken;
  auto waiting = wake.async_wait(asio::redirect_error(asio::use_awaitable, woken));
  co_await std::move(waiting);
}

asio::awaitable<void> SocketSession::Place::show(archive::RecordedFrame still) {
  camera::PixelSize size;
  const jpeg::WalkResult walked = jpeg::walk(still.bytes);
  if (const auto* info = std::get_if<jpeg::PictureInfo>(&walked)) size = {info->width_px, info->height_px};
  auto frame =
      std::make_shared<const camera::Frame>(std::move(still.bytes), still.at, base::MonoTime{}, 0, size);
  session_.credits_.reserve(slot);
  auto scaling = session_.services_.station.sizes().at_width(std::move(frame), width_px);
  camera::FramePtr scaled = co_await std::move(scaling);
  if (gone) co_return;
  if (scaled) {
    session_.send_picture(*this, PictureKind::playback, std::move(scaled));
  } else {
    session_.credits_.drop(slot);  // a broken picture: playback goes on with the next
  }
}

void SocketSession::Place::tell(json::object message) {
  if (gone) return;
  message["slot"] = slot;
  session_.send_text(message);
}

void SocketSession::hear(const PageWord& word) {
  if (const auto* show = std::get_if<Show>(&word)) {
    hear_show(*show);
  } else if (const auto* ack = std::get_if<Acknowledge>(&word)) {
    if (credits_.acknowledge(ack->serial)) wake_places();
  } else if (const auto* play = std::get_if<Play>(&word)) {
    hear_play(*play);
  } else if (const auto* pause = std::get_if<Pause>(&word)) {
    order(pause->slot, PlayOrder(PlayOrder::pause));
  } else if (const auto* step = std::get_if<Step>(&word)) {
    PlayOrder stepping(PlayOrder::step);
    stepping.frames = step->frames;
    order(step->slot, stepping);
  } else if (const auto* stop = std::get_if<StopPlaying>(&word)) {
    if (player_at(stop->slot)) remove(stop->slot);
  }
}

// Makes the live places those of the list. One that stays the same goes on undisturbed.
void SocketSession::hear_show(const Show& show) {
  std::map<int, const ShowOne*> wanted;
  for (const ShowOne& one : show.cameras) wanted.emplace(one.slot, &one);
  std::vector<int> unwanted;
  for (const auto& [slot, place] : places_) {
    const auto found = wanted.find(slot);
    const bool live = place->player == nullptr;
    const bool same = live && found != wanted.end() && found->second->camera == place->camera.text();
    if (same) {
      place->width_px = found->second->width_px;
      wanted.erase(found);
    } else if (live || found != wanted.end()) {
      unwanted.push_back(slot);
    }
  }
  for (const int slot : unwanted) remove(slot);
  for (const auto& [slot, one] : wanted) {
    const auto name = base::CameraName::parse(one->camera);
    if (!name || !caller_.may_see(*name)) {
      send_problem(no_such_camera(one->camera), slot);
      continue;
    }
    auto feed = services_.station.feed(*name);
    if (!feed) {
      send_problem(no_such_camera(one->camera), slot);
      continue;
    }
    auto place = std::make_shared<Place>(*this, slot, *name, one->width_px);
    places_[slot] = place;
    start(feed_live(place, std::move(*feed)), place->cancel, place);
  }
}

void SocketSession::hear_play(const Play& play) {
  const auto name = base::CameraName::parse(play.camera);
  if (!name || !caller_.may_see(*name) || !services_.station.knows(*name)) {
    send_problem(no_such_camera(play.camera), play.slot);
    return;
  }
  PlayOrder beginning(PlayOrder::play);
  beginning.at = play.at;
  beginning.speed = play.speed;
  PlacePtr place = player_at(play.slot);
  if (place && place->camera == *name) {
    place->width_px = play.width_px;
    order(play.slot, beginning);
    return;
  }
  remove(play.slot);
  place = std::make_shared<Place>(*this, play.slot, *name, play.width_px);
  place->player = std::make_unique<Player>(connection_.executor(), services_.station,
                                           recorded_reel(services_.station.catalog(), *name), *place);
  place->player->order(beginning);
  places_[play.slot] = place;
  start(this->play(place), place->cancel, place);
}

SocketSession::PlacePtr SocketSession::player_at(int slot) {
  const auto found = places_.find(slot);
  return found != places_.end() && found->second->player ? found->second : nullptr;
}

void SocketSession::order(int slot, PlayOrder order) {
  const PlacePtr place = player_at(slot);
  if (!place) {
    send_problem(base::Error(base::ErrorCode::not_found, "playback",
                             fmt::format("nothing plays in slot {}", slot), "Send {\"do\":\"play\"} first."),
                 slot);
  } else if (!place->player->order(order)) {
    send_problem(base::Error(base::ErrorCode::busy, "playback", "too many orders wait",
                             "Acknowledge the pictures that came."),
                 slot);
  }
}

void SocketSession::remove(int slot) {
  const auto found = places_.find(slot);
  if (found == places_.end()) return;
  const PlacePtr place = found->second;
  places_.erase(found);
  place->gone = true;
  credits_.drop(slot);
  asio::post(connection_.executor(), [place] { place->cancel.emit(asio::cancellation_type::terminal); });
  wake_places();
}

// The camera of a live place was removed: the page hears of it, and may ask again when there is one of that
// name.
void SocketSession::lose(const PlacePtr& place) {
  if (place->gone) return;
  remove(place->slot);
  send_problem(no_such_camera(place->camera.text()), place->slot);
}

asio::awaitable<void> SocketSession::play(PlacePtr place) {
  auto running = place->player->run();
  co_await std::move(running);
}

// Sends the newest frame of one camera whenever the page is ready for one.
asio::awaitable<void> SocketSession::feed_live(PlacePtr place, std::shared_ptr<camera::Feed> feed) {
  camera::FeedViewer viewer(feed, connection_.executor());
  while (!place->gone) {
    while (!credits_.slot_is_free(place->slot)) {
      auto waiting = place->wait();
      co_await std::move(waiting);
      if (place->gone) co_return;
    }
    auto next = viewer.next();
    camera::FramePtr frame = co_await std::move(next);
    while (frame && !place->ready()) {  // others have all 32: when it is this one's turn, take the newest
      auto waiting = place->wait();
      co_await std::move(waiting);
    }
    if (place->gone) co_return;
    if (!frame) co_return lose(place);
    if (const camera::FramePtr latest = feed->latest(); latest && latest != frame) {
      auto newer = viewer.next();
      frame = co_await std::move(newer);
      if (!frame || place->gone || !place->ready()) continue;  // a closed feed says so again
    }
    credits_.reserve(place->slot);
    auto scaling = services_.station.sizes().at_width(std::move(frame), place->width_px);
    camera::FramePtr scaled = co_await std::move(scaling);
    if (place->gone) co_return;
    if (scaled) {
      send_picture(*place, PictureKind::live, std::move(scaled));
    } else {
      credits_.drop(place->slot);
    }
  }
}

}  // namespace rookery::web
