// Station: the running whole. Cameras, their recordings and strips, exports; what web/ and cli/ translate
// for.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "archive/camera_store.h"
#include "archive/catalog.h"
#include "archive/people_store.h"
#include "archive/recorder.h"
#include "archive/segment_store.h"
#include "archive/strip_store.h"
#include "camera/feed.h"
#include "camera/pull.h"
#include "camera/settings.h"
#include "camera/status.h"
#include "station/exports.h"
#include "station/sizes.h"

namespace rookery::station {

struct StationOptions {
  std::filesystem::path home;
  camera::PullLimits pull;
  archive::RecorderOptions recorder;
  std::uint64_t seed = 0;  // of the back-off's jitter; 0 takes a random one
};

// What there is to say about one camera.
struct CameraView {
  camera::Settings settings;
  camera::Status status;
  archive::RecorderCounters recorder;
  std::size_t viewers = 0;

  CameraView(camera::Settings settings_, camera::Status status_, archive::RecorderCounters recorder_,
             std::size_t viewers_)
      : settings(std::move(settings_)), status(std::move(status_)), recorder(recorder_), viewers(viewers_) {}
};

// any-thread. Runs on the given I/O context (run it on a few threads) and on a pool of its own for decoding
// and encoding.
class Station {
 public:
  // Opens the catalog, mends the archive, starts nothing yet. Errors: those of Catalog::open and
  // archive::mend.
  static base::Result<std::unique_ptr<Station>> open(boost::asio::io_context& io, StationOptions options,
                                                     const base::Clock& clock);
  ~Station();  // stop()
  Station(const Station&) = delete;
  Station& operator=(const Station&) = delete;

  // Starts all enabled cameras, retention, and the watch for changes that other processes make in the
  // catalog.
  void start();
  // Ends all of it and returns when segments are closed. The I/O context must still be running.
  void stop();

  base::Result<void> add(const camera::Settings& settings);
  base::Result<void> set(const camera::Settings& settings);
  base::Result<void> remove(const base::CameraName& name);
  std::vector<CameraView> cameras() const;
  base::Result<CameraView> camera(const base::CameraName& name) const;  // not_found
  // The camera's feed. It lives as long as the camera is known; closes when the camera is removed. Errors:
  // not_found.
  base::Result<std::shared_ptr<camera::Feed>> feed(const base::CameraName& name) const;
  base::Result<void> push(const base::CameraName& name, std::vector<std::byte> jpeg);

  archive::Catalog& catalog();
  archive::PeopleStore& people();
  archive::SegmentStore& segments();
  archive::StripStore& strips();
  Exports& exports();
  Sizes& sizes();
  const base::Clock& clock() const;
  boost::asio::io_context& io();
  // Where work that blocks or computes belongs (file reads, decoding).
  boost::asio::thread_pool& workers();
  base::WallTime started_at() const;
  std::uint64_t keep_free_bytes() const;

 private:
  Station();
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::station
