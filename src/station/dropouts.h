// Dropouts: ranks the causes of every dropout of every camera, and keeps what was told.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <vector>

#include <boost/asio/thread_pool.hpp>

#include "archive/dropout_store.h"
#include "camera/causes.h"

namespace rookery::station {

// any-thread. Always held by a shared pointer: what is being ranked holds it.
class Dropouts : public std::enable_shared_from_this<Dropouts> {
 public:
  static constexpr std::size_t kRemembered = 100;  // of one camera, in memory

  // workers: where pictures are decoded and causes ranked. Both references are used up to close(); what was
  // posted before does nothing after it. disk_full: whether the station's disk is.
  Dropouts(archive::DropoutStore& store, boost::asio::thread_pool& workers, std::function<bool()> disk_full)
      : store_(store), workers_(workers), disk_full_(std::move(disk_full)) {}

  // Before the camera's first picture: what is remembered of it. Blocks (catalog).
  void recall(const base::CameraName& camera, base::WallTime now);
  // Ranks and stores; the last word on a dropout replaces the first. Returns at once.
  void tell(const base::CameraName& camera, camera::DropoutSeen seen);
  void forget(const base::CameraName& camera);
  // Nothing is told or stored after this.
  void close();

 private:
  void rank(const base::CameraName& camera, const camera::DropoutSeen& seen);

  archive::DropoutStore& store_;
  boost::asio::thread_pool& workers_;
  std::function<bool()> disk_full_;
  std::mutex mutex_;
  bool closed_ = false;
  std::map<base::CameraName, std::vector<camera::PastDropout>> past_;  // the newest first
};

}  // namespace rookery::station
