// Dropouts: ranks the causes of every dropout of every camera, and keeps what was told.
#pragma once

#include <functional>
#include <map>
#include <mutex>
#include <vector>

#include "archive/dropout_store.h"
#include "camera/causes.h"

namespace rookery::station {

// any-thread.
class Dropouts {
 public:
  static constexpr std::size_t kRemembered = 100;  // of one camera, in memory

  // The store outlives this, up to close(). disk_full: whether the station's disk is.
  Dropouts(archive::DropoutStore& store, std::function<bool()> disk_full)
      : store_(store), disk_full_(std::move(disk_full)) {}

  // Before the camera's first picture: what is remembered of it. Blocks (catalog).
  void recall(const base::CameraName& camera, base::WallTime now);
  // Ranks and stores; the last word on a dropout replaces the first. Returns at once.
  void tell(const base::CameraName& camera, const camera::DropoutSeen& seen);
  void forget(const base::CameraName& camera);
  // Nothing is told or stored after this.
  void close();

 private:
  archive::DropoutStore& store_;
  std::function<bool()> disk_full_;
  std::mutex mutex_;
  bool closed_ = false;
  std::map<base::CameraName, std::vector<camera::PastDropout>> past_;  // the newest first
};

}  // namespace rookery::station
