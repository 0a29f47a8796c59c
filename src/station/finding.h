// Finding: what is on the network, for the page, looked for only while somebody asks; and boards whose
// address changed, followed; and boards that announce themselves anew.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/address.hpp>
#include <boost/asio/thread_pool.hpp>

#include "archive/board_store.h"
#include "archive/camera_store.h"
#include "camera/finder.h"
#include "station/camera_set.h"
#include "station/finding_options.h"

namespace rookery::station {

// What was found, and how far that is.
struct FoundView {
  std::vector<camera::FoundBoard> boards;
  bool settled = false;  // nothing is being asked any more
  bool sweeping = false;
  std::string sweep_text;            // what a sweep would do
  std::optional<base::Error> error;  // it does not work
};

// A camera that was followed.
struct CameraMove {
  base::CameraName camera;
  archive::BoardMove move;
};

// any-thread.
class Finding {
 public:
  // All of it outlives this; `workers` may block. `home`: whose own profiles are asked by.
  Finding(boost::asio::io_context& io, archive::Catalog& catalog, archive::CameraStore& cameras,
          CameraSet& running, boost::asio::thread_pool& workers, const base::Clock& clock,
          std::filesystem::path home, FindingOptions options);
  ~Finding();

  // What there is now; the first who asks starts the search, so that it grows from call to call. Blocks
  // (catalog).
  FoundView view();
  // Knocks at each address of the own networks, once; also starts the search. Blocks.
  void sweep();
  // Looks after the cameras until it is cancelled.
  boost::asio::awaitable<void> run();
  // Hears boards that start or join the network anew, until it is cancelled.
  boost::asio::awaitable<void> listen();
  // Ends the search. The I/O context must still run.
  void stop();
  // Of the last day, for people. Blocks.
  std::vector<CameraMove> recent_moves() const;

  // Somebody made sure of these names (net/claim_listener.h): the dropouts of the camera whose board it is
  // are told.
  void hear_claim(const std::vector<std::string>& names, const boost::asio::ip::address& from);
  // One look: what run() does again and again. Blocks.
  void look();

 private:
  struct Seen;
  std::vector<Seen> seen() const;
  bool is_missing(const Seen& camera) const;
  void start_finder(const std::lock_guard<std::mutex>&);
  void refresh_known();
  void learn(const std::vector<Seen>& cameras, const std::vector<camera::FoundBoard>& found);
  bool follow(const std::vector<Seen>& cameras, const std::vector<camera::FoundBoard>& found);
  void move(const Seen& camera, const std::string& from, const std::string& to);
  std::vector<camera::FoundBoard> found_now() const;

  boost::asio::io_context& io_;
  archive::CameraStore& cameras_;
  CameraSet& running_;
  boost::asio::thread_pool& workers_;
  const base::Clock& clock_;
  const std::filesystem::path home_;
  const FindingOptions options_;
  mutable archive::BoardStore boards_;
  std::atomic<bool> looking_{false};

  struct Known {
    std::mutex mutex;
    std::vector<camera::KnownBoard> boards;  // guarded by the mutex
  };
  const std::shared_ptr<Known> known_ = std::make_shared<Known>();  // the finder holds it as well

  mutable std::mutex mutex_;  // guards the rest
  std::unique_ptr<camera::Finder> finder_;
  std::vector<std::uint16_t> knocked_;  // ports: the finder's
  base::MonoTime asked_{};
  bool stopped_ = false;
};

}  // namespace rookery::station
