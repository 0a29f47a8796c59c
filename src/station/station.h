// Station: the running whole. Cameras, their recordings and strips, exports; what web/ and cli/ translate
// for.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "archive/camera_store.h"
#include "archive/catalog.h"
#include "archive/dropout_store.h"
#include "archive/event_store.h"
#include "archive/people_store.h"
#include "archive/recorder.h"
#include "archive/retention.h"
#include "archive/segment_store.h"
#include "archive/strip_store.h"
#include "archive/vitals_store.h"
#include "camera/feed.h"
#include "camera/pull.h"
#include "camera/settings.h"
#include "camera/status.h"
#include "camera/vitals.h"
#include "notices/desk.h"
#include "station/event_recording.h"
#include "station/exports.h"
#include "station/films.h"
#include "station/finding_options.h"
#include "station/jobs.h"
#include "station/sizes.h"
#include "station/troubles.h"

namespace rookery::station {

class Finding;

// How often the station looks at what; the defaults are what a person gets, tests shorten them.
struct StationTicks {
  std::chrono::milliseconds look{200};  // at each camera's latest picture: motion, strip
  std::chrono::milliseconds settings{1'000};
  std::chrono::milliseconds space{60'000};
  std::chrono::milliseconds vitals = camera::kVitalsEvery;
  std::chrono::milliseconds jobs{500};  // whether a still of a job is due
  // How long a change waits for connections to boards to be closed before it tries again at the next look at
  // the settings. Closing takes no time on a computer that runs at all.
  std::chrono::milliseconds let_go{2'000};
};

struct StationOptions {
  std::filesystem::path home;
  StationTicks ticks;
  camera::PullLimits pull;
  archive::RecorderOptions recorder;
  std::size_t pre_roll_most_bytes = 256u << 20;  // in memory, of all cameras that record around events
  std::uint64_t exports_most_bytes = ExportLimits().most_bytes;
  archive::JobBounds jobs;
  notices::Desk::Options notices;
  FindingOptions finding;
  std::uint64_t seed = 0;  // of the back-off's jitter; 0 takes a random one
};

// What there is to say about one camera.
struct CameraView {
  camera::Settings settings;
  camera::Status status;
  archive::RecorderCounters recorder;
  std::size_t viewers = 0;
  std::uint64_t viewers_skipped = 0;  // frames that viewers left out because they were not ready
  PreRollState pre_roll;
  std::uint64_t looked_at = 0;          // pictures, for motion, since the station started
  std::optional<archive::Event> event;  // under way
  std::uint64_t events_ended = 0;       // since the station started

  CameraView(camera::Settings settings_, camera::Status status_, archive::RecorderCounters recorder_)
      : settings(std::move(settings_)), status(std::move(status_)), recorder(recorder_) {}
};

// any-thread. Runs on the given I/O context (run it on a few threads) and on pools of its own.
class Station {
 public:
  // Opens the catalog, mends the archive, starts nothing yet. Errors: those of Catalog::open and
  // archive::mend.
  static base::Result<std::unique_ptr<Station>> open(boost::asio::io_context& io, StationOptions options,
                                                     const base::Clock& clock);
  ~Station();  // stop()
  Station(const Station&) = delete;
  Station& operator=(const Station&) = delete;

  // Before start(): where the station can be called. No notice goes there.
  void set_listening(std::vector<notices::OwnEndpoint> at);
  // Starts all enabled cameras, notices, retention, and the watch for changes that other processes make in
  // the catalog.
  void start();
  // Ends all of it and returns when segments are closed. The I/O context must still be running.
  void stop();

  base::Result<void> add(const camera::Settings& settings);
  base::Result<void> set(const camera::Settings& settings);
  // As CameraStore::change, and taken up at once.
  base::Result<void> change(const base::CameraName& name,
                            const std::function<base::Result<void>(camera::Settings&)>& how);
  base::Result<void> remove(const base::CameraName& name);
  std::vector<CameraView> cameras() const;
  base::Result<CameraView> camera(const base::CameraName& name) const;  // not_found
  bool knows(const base::CameraName& name) const;
  std::size_t camera_count() const;
  // The camera's feed. It lives as long as the camera is known; closes when the camera is removed. Errors:
  // not_found.
  base::Result<std::shared_ptr<camera::Feed>> feed(const base::CameraName& name) const;
  base::Result<void> push(const base::CameraName& name, std::vector<std::byte> jpeg);

  archive::Catalog& catalog();
  archive::PeopleStore& people();
  archive::SegmentStore& segments();
  archive::StripStore& strips();
  archive::EventStore& events();
  archive::DropoutStore& dropouts();
  archive::VitalsStore& vitals();
  archive::JobStore& job_store();
  Jobs& jobs();
  Films& films();
  notices::Desk& notices();
  Exports& exports();
  Sizes& sizes();
  Finding& finding();
  const base::Clock& clock() const;
  boost::asio::io_context& io();
  // Where work belongs that does not fit an I/O thread. Three pools, so that nobody waits for another's disk:
  boost::asio::thread_pool&
  computing();                         // decoding, scaling, causes of dropouts, status texts; touches no file
  boost::asio::thread_pool& asking();  // short looks into the catalog that live pictures depend on: who asks
  boost::asio::thread_pool&
  reading();  // all that may wait for a disk: files, the rest of the catalog, hashes
  base::WallTime started_at() const;
  std::uint64_t keep_free_bytes() const;
  archive::LateFlushes late_flushes() const;
  // What is wrong with the station as a whole, the worst first. Blocks (disk, catalog).
  std::vector<Trouble> troubles() const;
  // By which time ages of recordings are counted; none before the first round of retention.
  std::optional<archive::AgeState> age() const;
  // As archive::Retention::confirm_clock.
  base::Result<void> confirm_clock();

 private:
  Station();
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::station
