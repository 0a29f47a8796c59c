// SocketSession: one page's WebSocket. Shows live pictures and playbacks in slots, under flow control.
#pragma once

#include <deque>
#include <map>
#include <memory>
#include <mutex>
#include <string>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/websocket/stream.hpp>
#include <boost/json/serialize.hpp>

#include "web/connection.h"
#include "web/credits.h"
#include "web/player.h"
#include "web/socket_words.h"

namespace rookery::web {

namespace websocket = boost::beast::websocket;

// strand-bound to its connection, except where said. One writer, one reader, a status round, a heartbeat, and
// one coroutine a slot; all of them end before run() returns.
class SocketSession : public std::enable_shared_from_this<SocketSession> {
 public:
  // `connection` outlives run().
  SocketSession(Services& services, Connection& connection, Caller caller);

  // The handshake and everything after it.
  boost::asio::awaitable<void> run(http::request<http::empty_body> upgrade);

  // any-thread, blocks: whether the person may still be here; brings their grants up to date.
  bool ask_again();
  // Ends the session with this close code.
  void finish(websocket::close_code code, std::string reason);

 private:
  // One picture place of the page.
  class Place final : public PlayPlace {
   public:
    Place(SocketSession& session, int slot_, base::CameraName camera_, int width);
    bool ready() const override;
    boost::asio::awaitable<void> wait() override;
    void nudge() override { wake.cancel(); }
    boost::asio::awaitable<void> show(archive::RecordedFrame frame) override;
    void tell(boost::json::object message) override;

    const int slot;
    const base::CameraName camera;
    int width_px;
    bool gone = false;  // taken out of the session; its coroutine is ending
    boost::asio::steady_timer wake;
    boost::asio::cancellation_signal cancel;
    std::unique_ptr<Player> player;  // null: live

   private:
    SocketSession& session_;
  };
  struct Out {
    std::string text;  // when there is no frame
    PictureHead head{};
    camera::FramePtr frame;
  };
  using PlacePtr = std::shared_ptr<Place>;

  boost::asio::awaitable<bool> shake_hands(http::request<http::empty_body> upgrade);
  boost::asio::awaitable<void> read();
  boost::asio::awaitable<void> write();
  boost::asio::awaitable<void> report();
  boost::asio::awaitable<void> beat();
  boost::asio::awaitable<void> feed_live(PlacePtr place, std::shared_ptr<camera::Feed> feed);
  boost::asio::awaitable<void> play(PlacePtr place);
  boost::asio::awaitable<void> sleep(std::chrono::milliseconds time);
  void start(boost::asio::awaitable<void> task, boost::asio::cancellation_signal& cancel,
             PlacePtr holds = {});

  void hear(const PageWord& word);
  void hear_show(const Show& show);
  void hear_play(const Play& play);
  void order(int slot, PlayOrder order);
  void remove(int slot);
  void lose(const PlacePtr& place);
  void regrant(Caller caller);
  PlacePtr player_at(int slot);

  bool has_room() const;
  void send_picture(Place& place, PictureKind kind, camera::FramePtr frame);
  void send_text(const boost::json::object& message) { send_text(boost::json::serialize(message)); }
  void send_text(std::string text);
  void send_problem(const base::Error& error, std::optional<int> slot);
  void wake_places();
  std::string status_text(const StatusSnapshot& snapshot);

  Services& services_;
  Connection& connection_;
  websocket::stream<Carrier&> ws_;
  Caller caller_;
  std::mutex asked_mutex_;
  Caller asked_;  // what ask_again() works with, guarded by its mutex

  std::map<int, PlacePtr> places_;
  Credits credits_;
  std::deque<Out> out_;
  std::size_t pictures_queued_ = 0;
  std::map<base::CameraName, std::string> told_;  // the status that the page knows
  bool told_names_ = false;                       // it has had the names once
  bool status_queued_ = false;

  boost::asio::steady_timer finished_;
  boost::asio::steady_timer writer_wake_;
  boost::asio::steady_timer children_gone_;
  boost::asio::cancellation_signal cancel_[4];
  std::size_t children_ = 0;
  bool finishing_ = false;
  websocket::close_reason reason_;
  base::MonoTime heard_;
};

}  // namespace rookery::web
