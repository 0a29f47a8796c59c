// CameraSet: the cameras of a running station, kept the same as those of the catalog.
#pragma once

#include <atomic>
#include <map>
#include <memory>
#include <mutex>
#include <random>
#include <vector>

#include <boost/asio/io_context.hpp>

#include "archive/camera_store.h"
#include "archive/catalog.h"
#include "archive/recorder.h"
#include "camera/board_register.h"
#include "station/entry.h"

namespace rookery::station {

// any-thread.
class CameraSet {
 public:
  struct Options {
    camera::PullLimits limits;
    std::chrono::milliseconds let_go{};  // how long apply() waits for connections to be closed
    std::uint64_t seed = 0;              // of the back-off's jitter
    // What all cameras that record around events may hold in memory for the time before; each has an equal
    // part.
    std::size_t pre_roll_most_bytes = 0;
    std::function<std::int64_t()> next_event_id;
    std::function<void(const base::CameraName&, const camera::DropoutSeen&)> on_dropout;
    // A new camera, before its first frame; and one that goes, after its last.
    std::function<void(const base::CameraName&, Entry&)> on_coming;
    std::function<void(const base::CameraName&, Entry&)> on_leaving;
  };
  // All of it outlives the set.
  CameraSet(boost::asio::io_context& io, const archive::Catalog& catalog, archive::CameraStore& store,
            archive::Recorder& recorder, const base::Clock& clock, Options options);
  CameraSet(const CameraSet&) = delete;
  CameraSet& operator=(const CameraSet&) = delete;

  // From now on enabled cameras are pulled. True the first time.
  bool start();
  // Lets go of all cameras: their feeds close, their segments are finished.
  void stop();

  // Makes the running cameras those of the catalog. Blocks: a board that one camera had is asked by another
  // only when the first one's connection is closed. Errors: those of CameraStore::list.
  base::Result<void> apply();
  // Whether the catalog's cameras may have changed since the last apply(), or one could not be started then.
  // Asks the catalog.
  bool is_behind() const;

  // In the catalog's order.
  std::vector<std::pair<base::CameraName, EntryPtr>> all() const;
  std::size_t count() const;
  EntryPtr find(const base::CameraName& name) const;  // null: there is none
  camera::Settings settings_of(const Entry& entry) const;
  // Which boards are connected to.
  const std::shared_ptr<camera::BoardRegister>& boards() const { return common_.boards; }
  // When which stopped giving pictures, and announced itself.
  const std::shared_ptr<camera::GapBoard>& gaps() const { return common_.gaps; }

 private:
  void let_go(const std::vector<camera::Settings>& wanted);
  bool all_let_go();
  void settle(const camera::Settings& settings, std::size_t pre_roll_bytes, bool may_start);
  void retire(Entry& entry);
  void end(const base::CameraName& name, Entry& entry);
  std::size_t pre_roll_bytes(const std::vector<camera::Settings>& wanted) const;
  EntryPtr make(const camera::Settings& settings);
  void set_recording(Entry& entry, const camera::Settings& settings, std::size_t pre_roll_bytes);

  const archive::Catalog& catalog_;
  archive::CameraStore& store_;
  archive::Recorder& recorder_;
  const Options options_;
  const Entry::Common common_;

  std::mutex applying_;            // one change of the set at a time; taken before mutex_
  std::mt19937_64 seeds_;          // guarded by applying_, as is the next
  std::vector<EntryPtr> leaving_;  // told to let go of their boards, not yet known to have
  mutable std::mutex mutex_;
  std::map<base::CameraName, EntryPtr> entries_;
  std::vector<base::CameraName> order_;  // as in the catalog
  std::atomic<std::int64_t> applied_version_{-1};
  std::atomic<bool> running_{false};
};

}  // namespace rookery::station
