// VitalsTaking: has every camera's vitals read each ten seconds, and each minute of them stored.
#pragma once

#include <atomic>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/thread_pool.hpp>

#include "archive/vitals_store.h"
#include "station/camera_set.h"

namespace rookery::station {

// strand-bound.
class VitalsTaking {
 public:
  // All of it outlives this. `reading`: where the catalog is waited for. `every`: between two readings.
  VitalsTaking(const CameraSet& cameras, archive::VitalsStore& store, boost::asio::thread_pool& reading,
               const base::Clock& clock, std::chrono::milliseconds every);

  // Goes on until it is cancelled.
  boost::asio::awaitable<void> run();
  // One reading of all cameras, as run() makes them; `since` the last.
  void read(std::chrono::nanoseconds since);

 private:
  void store(std::vector<std::pair<base::CameraName, camera::VitalsBook::Minute>> minutes);
  void pack_on_a_new_day();

  const CameraSet& cameras_;
  archive::VitalsStore& store_;
  boost::asio::thread_pool& reading_;
  const base::Clock& clock_;
  const std::chrono::milliseconds every_;
  std::optional<std::chrono::sys_days> packed_;
  std::atomic<bool> packing_{false};
};

}  // namespace rookery::station
