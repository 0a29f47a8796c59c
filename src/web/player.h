// Player: plays one camera's recording into one picture place, at any speed, both ways, and frame by frame.
#pragma once

#include <deque>
#include <memory>
#include <optional>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/json/object.hpp>

#include "station/station.h"
#include "web/reel.h"

namespace rookery::web {

// Where a player shows its pictures and says what it does. strand-bound.
class PlayPlace {
 public:
  virtual ~PlayPlace() = default;
  // Whether the picture before was drawn, so that another may be sent.
  virtual bool ready() const = 0;
  // Until ready() may have changed, or nudge() was called.
  virtual boost::asio::awaitable<void> wait() = 0;
  virtual void nudge() = 0;
  virtual boost::asio::awaitable<void> show(archive::RecordedFrame frame) = 0;
  // {"is": …} without the slot, which the place adds.
  virtual void tell(boost::json::object message) = 0;
};

struct PlayOrder {
  enum Kind { play, pause, step } kind = pause;
  base::WallTime at{};  // play
  double speed = 1;     // play: −64 to 64, not 0
  int frames = 0;       // step: −100 to 100, not 0

  PlayOrder() = default;
  explicit PlayOrder(Kind kind_) : kind(kind_) {}
};

// strand-bound to `executor`. Files are read on station.reading().
class Player {
 public:
  // `place` and `station` outlive it.
  Player(boost::asio::any_io_executor executor, station::Station& station, std::unique_ptr<Reel> reel,
         PlayPlace& place);

  // Carries orders out, one after another; a `play` takes the place of all that wait. False when too many
  // wait.
  bool order(PlayOrder order);

  // Works until it is cancelled.
  boost::asio::awaitable<void> run();

 private:
  enum class Mode { still, playing };
  static constexpr std::size_t kOrdersMost = 100;

  boost::asio::awaitable<void> obey(PlayOrder order);
  boost::asio::awaitable<void> begin(PlayOrder order);
  boost::asio::awaitable<void> step(int frames);
  boost::asio::awaitable<void> play_on();
  boost::asio::awaitable<void> cross_gap(base::WallTime to);
  boost::asio::awaitable<bool> until_ready(bool any_order);
  boost::asio::awaitable<void> sleep(base::Microseconds time);
  boost::asio::awaitable<void> show(archive::RecordedFrame frame);
  void start_clock(base::WallTime at);
  void tell_end(std::string_view reason, base::WallTime at);
  void tell_problem(const base::Error& error);
  bool replaced() const { return !orders_.empty() && orders_.front().kind == PlayOrder::play; }
  base::MonoTime now() const { return station_.clock().mono(); }

  boost::asio::any_io_executor executor_;
  station::Station& station_;
  std::unique_ptr<Reel> reel_;
  PlayPlace& place_;
  boost::asio::steady_timer timer_;
  std::deque<PlayOrder> orders_;
  Mode mode_ = Mode::still;
  PlayClock clock_;
  std::optional<base::WallTime> current_;
};

}  // namespace rookery::web
