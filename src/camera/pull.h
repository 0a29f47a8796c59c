// Pull: owns one board. Connects, reads, checks, publishes, counts, backs off; never a second stream to it.
#pragma once

#include <functional>
#include <memory>
#include <optional>

#include <boost/asio/any_io_executor.hpp>

#include "base/time.h"
#include "camera/arrivals.h"
#include "camera/board_register.h"
#include "camera/dropout.h"
#include "camera/feed.h"
#include "camera/gap_board.h"
#include "camera/gap_recorder.h"
#include "camera/settings.h"
#include "camera/status.h"
#include "net/tcp_vitals.h"
#include "net/wire.h"

namespace rookery::camera {

// Time limits and back-off; the defaults are what a person gets.
struct PullLimits {
  std::chrono::milliseconds connect{5000};   // name look-up + TCP (+ TLS) + response head
  std::chrono::milliseconds silence{10000};  // no byte for this long, or bytes but no whole picture for three
                                             // times as long: the connection is given up
  std::chrono::milliseconds backoff_first{500};
  std::chrono::milliseconds backoff_most{30000};
  std::chrono::milliseconds healthy_after{5000};  // of frames: the back-off begins at backoff_first again
  std::size_t part_most_bytes = 8u << 20;
  GapLimits gaps;
};

// What one pull shares with the others of its station; all of it may be null.
struct PullShared {
  std::shared_ptr<BoardRegister> boards;  // those that must not meet at one board
  std::shared_ptr<GapBoard> gaps;         // those that say when they stopped giving pictures
  // Called on the pull's strand for every dropout: when it is over, and a minute after it began if it is not.
  // Must return at once.
  std::function<void(const DropoutSeen&)> on_dropout;
};

// any-thread handle; the work runs on a strand of `executor`.
class Pull {
 public:
  // `seed` feeds the jitter; `clock` outlives the pull, and so does the execution context (which need not
  // run). `tls`: null for the system's authorities.
  Pull(boost::asio::any_io_executor executor, Settings settings, PullLimits limits, const base::Clock& clock,
       std::uint64_t seed, net::TlsContext tls, PullShared shared);
  Pull(boost::asio::any_io_executor executor, Settings settings, PullLimits limits, const base::Clock& clock,
       std::uint64_t seed, net::TlsContext tls = nullptr, std::shared_ptr<BoardRegister> boards = nullptr);
  // Stops; when it has returned, nothing more is published and the clock is not used any more. Does not wait
  // for the socket to be closed (that happens on the strand). Not from inside a tap of its own feed.
  ~Pull();
  Pull(const Pull&) = delete;
  Pull& operator=(const Pull&) = delete;

  void start();
  // Ends the connection and the loop; the feed stays open. Does not wait for the socket to be closed.
  void stop();
  // Waits until every connection that stop() or set() ended is closed: only then may another pull ask the
  // same board. False when that took longer than `limit`. Not from a thread that the executor needs to get
  // on.
  bool wait_let_go(std::chrono::milliseconds limit) const;

  // The same camera with other settings: reconnects only when something that concerns the board changed.
  void set(Settings settings);

  // A still that a board pushed, checked and counted like any other. Errors: malformed (with the kind),
  // unsupported when the source is not `pushed`, refused when the camera is off.
  base::Result<void> push(std::vector<std::byte> jpeg);

  std::shared_ptr<Feed> feed() const;
  Status status() const;
  // Of the answers that gave pictures last (camera/fingerprint.h); empty until there was one.
  std::string fingerprint() const;
  // How evenly whole pictures came since the last call, for one who asks regularly.
  ArrivalSpan take_arrivals();

  // Calls `tell` on the pull's strand, soon: what the kernel knows of the board's connection; nothing when
  // there is none.
  void ask_tcp(std::function<void(std::optional<net::TcpVitals>)> tell) const;

 private:
  struct Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace rookery::camera
