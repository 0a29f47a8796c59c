// GapWatch: goes along with a pull; looks once a second whether pictures stopped, asks the board while they
// are missing, and tells of dropouts. Inside of Pull (pull.cpp).
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string_view>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>

#include "base/result.h"
#include "camera/dropout.h"
#include "camera/pull.h"
#include "net/http_client.h"

namespace rookery::camera {

class PullBooks;

inline constexpr std::string_view kEndedInOrder = "the board ended the stream";

// How an attempt ended that got no answer; and one that was answered.
AttemptEnd end_without_head(const base::Error& error, const net::HttpClient& client);
AttemptEnd end_with_head(const base::Error& error, const net::HttpClient& client, bool any_part_came);

// strand-bound, as its client is.
class GapWatch {
 public:
  // All of it outlives this.
  GapWatch(PullBooks& books, net::HttpClient& client, const PullShared& shared, const GapLimits& limits)
      : books_(books), client_(client), shared_(shared), limits_(limits) {}

  // Goes on until it is cancelled. Lent: `owner` owns `self` and is kept.
  static boost::asio::awaitable<void> run(std::shared_ptr<void> owner, GapWatch& self);
  // After an answer: it may have come from somewhere else than before.
  void note_peer();

 private:
  boost::asio::awaitable<void> probe(base::MonoTime gap_began);
  void note_gaps(base::Microseconds late);

  PullBooks& books_;
  net::HttpClient& client_;
  const PullShared& shared_;
  const GapLimits limits_;
  std::optional<boost::asio::ip::tcp::endpoint> peer_;  // of the last connection
  std::optional<base::MonoTime> gap_since_;
  std::array<std::optional<std::chrono::steady_clock::time_point>, 2> probed_;  // by ProbeKind: the last time
};

}  // namespace rookery::camera
