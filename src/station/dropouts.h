// Dropouts: ranks the causes of every dropout of every camera, keeps what was told, and tells earlier ones
// anew when later ones make them clear.
#pragma once

#include <deque>
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
  // So many of the last 7 days may be told anew: those that this station saw since it started.
  static constexpr std::size_t kToldAnew = 30;

  // workers: where pictures are decoded and causes ranked. Both references are used up to close(); what was
  // posted before does nothing after it. disk_full: whether the station's disk is.
  Dropouts(archive::DropoutStore& store, boost::asio::thread_pool& workers, std::function<bool()> disk_full)
      : store_(store), workers_(workers), disk_full_(std::move(disk_full)) {}

  // Before the camera's first picture: what is remembered of it. Blocks (catalog).
  void recall(const base::CameraName& camera, base::WallTime now);
  // Ranks and stores; the last word on a dropout replaces the first. When it is over, the camera's earlier
  // ones are ranked again, and those of which another cause, or none, is named now are stored anew. Returns
  // at once.
  void tell(const base::CameraName& name, camera::DropoutSeen seen);
  void forget(const base::CameraName& camera);
  // Nothing is told or stored after this.
  void close();

 private:
  // One that was told, with what is needed to rank it again.
  struct Told {
    archive::Dropout dropout;
    camera::Evidence evidence;
    std::string first_verdict;
    int later = 0;  // dropouts since
  };
  struct Camera {
    std::vector<camera::PastDropout> past;  // the newest first
    std::deque<Told> told;                  // the newest first
  };
  void rank(const base::CameraName& name, const camera::DropoutSeen& seen);
  void tell_anew(Camera& camera, base::WallTime now);

  archive::DropoutStore& store_;
  boost::asio::thread_pool& workers_;
  std::function<bool()> disk_full_;
  std::mutex mutex_;
  bool closed_ = false;
  std::map<base::CameraName, Camera> cameras_;
};

}  // namespace rookery::station
