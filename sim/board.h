// A make-believe board: an HTTP server on loopback that hands out stills and motion JPEG exactly as boards
// do, faults included.
#pragma once

#include <boost/asio/any_io_executor.hpp>

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "sim/board_sign_in.h"
#include "sim/board_wire.h"
#include "sim/faults.h"
#include "sim/frame_source.h"

namespace rookery::sim {

struct BoardOptions {
  std::string name = "board";
  // 0 lets the computer choose. Two ports (stills and stream, as most boards) unless one_port.
  std::uint16_t still_port = 0;
  std::uint16_t stream_port = 0;
  bool one_port = false;  // both on still_port; stills then wait while somebody streams
  std::string still_path = "/still";
  std::string stream_path = "/stream";
  Framing framing = Framing::chunked_stamp;
  std::string boundary =
      "saltmarsh-frame";          // Framing::quoted_boundary wants one with ":"; as given otherwise
  double frames_per_second = 10;  // 0.01 to 1000
  // When set, pictures are due at multiples of the period after this point of the clock, whoever connects
  // when: a fleet whose boards each have their own beat, as crystals that know nothing of each other give.
  std::optional<base::Microseconds> beat;
  bool one_viewer = true;  // the second stream connects and hears nothing until the first leaves
  int sockets = 7;         // for each port; a further connection waits unaccepted
  std::chrono::milliseconds send_timeout{5000};  // a viewer that takes nothing for so long is cut
  SignIn sign_in = SignIn::none;
  std::string user;
  std::string password;
  // Answered with 302: redirect_path → the stream's absolute address. "/loop" always redirects to itself.
  std::string redirect_path = "/moved";
  std::uint64_t frames_until_close =
      0;                       // a stream ends (cleanly, where the framing can) after so many; 0: never
  bool record_hashes = false;  // keep fnv1a64 of every JPEG sent in streams, in order
  std::uint64_t seed = 1;      // for the radio
  // GET control_path?key=lamp&value=N on the still port: 200 and an empty body; 500 for another key, 404
  // without one.
  std::string control_path = "/control";
  // Called on the board's strand with the lamp's new value: what a test wants of a lamp's load.
  std::function<void(int)> on_lamp;
};

struct BoardCounts {
  std::uint64_t connections = 0;      // accepted, ever
  std::uint64_t stream_requests = 0;  // requests for the stream path, ever
  std::uint64_t streams_now = 0;      // requests for the stream that are open now, served or waiting
  std::uint64_t most_streams = 0;     // the most of those at one time: 1 proves "never a second stream"
  std::uint64_t streams_served = 0;   // those that got at least a response header
  std::uint64_t frames_sent = 0;      // JPEGs wholly handed to the network in streams
  std::uint64_t stills_sent = 0;
  std::uint64_t denied = 0;    // 401 answers
  std::uint64_t boots = 0;     // 1 after start, one more for each reset
  std::uint64_t controls = 0;  // control requests that were done
  int lamp = 0;                // its last value
};

// Not copyable; may be destroyed while its executor runs or after it stopped.
class Board {
 public:
  // `executor`: where it runs, on a strand of its own. `faults` may be shared with the test that switches
  // them.
  Board(boost::asio::any_io_executor executor, BoardOptions options, std::shared_ptr<FrameSource> source,
        std::shared_ptr<Faults> faults = std::make_shared<Faults>());
  ~Board();
  Board(const Board&) = delete;
  Board& operator=(const Board&) = delete;

  // Binds and listens on 127.0.0.1; connections queue from now on and are served when the executor runs.
  // Call once. Errors: io, when a port is taken.
  base::Result<void> start();
  // Resets every connection and closes the ports. any-thread; harmless twice.
  void stop();
  // Takes the supply away for `off`: connections are reset, the ports refuse, then it boots anew (stamps from
  // zero, exposure settling, a freeze is over). any-thread.
  void cycle_power(std::chrono::milliseconds off);

  // "http://127.0.0.1:PORT/stream". any-thread, after start.
  std::string stream_address() const;
  std::string still_address() const;
  std::string redirect_address() const;

  // All any-thread.
  BoardCounts counts() const;
  std::vector<std::uint64_t> sent_hashes() const;
  Faults& faults();
  // What moved and which fault was on, ordered by start.
  std::vector<TruthEvent> truth() const;

 private:
  struct Body;
  std::shared_ptr<Body> body_;
};

// FNV-1a, 64 bits: what sent_hashes() holds.
std::uint64_t fnv1a64(const std::vector<std::uint8_t>& bytes);

}  // namespace rookery::sim
