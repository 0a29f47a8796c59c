// Watching: has every camera's newest picture looked at, and carries out what follows from it.
#pragma once

#include <atomic>
#include <functional>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/thread_pool.hpp>

#include "archive/event_store.h"
#include "archive/motion_state_store.h"
#include "archive/strip_store.h"
#include "station/camera_set.h"

namespace rookery::station {

// any-thread. Each camera is looked at at its own turn, so that a hundred do not decode at once; a look that
// is late is left out, never queued.
class Watching {
 public:
  // How often what a detector has learned is saved.
  static constexpr std::chrono::minutes kSaveEvery{5};

  // Hears of every change of an event; the picture that showed it, null when the camera went.
  using Tell = std::function<void(const archive::Event&, const std::string& title, camera::FramePtr)>;

  // All of it outlives this. `workers` decode. `every`: the time between two looks at one camera.
  Watching(const CameraSet& cameras, archive::EventStore& events, archive::StripStore& strips,
           archive::MotionStateStore& states, boost::asio::thread_pool& workers, const base::Clock& clock,
           std::chrono::milliseconds every, Tell tell);

  // Goes on until it is cancelled.
  boost::asio::awaitable<void> run();
  // The camera goes, or the station: what is under way ends, what is learned is saved.
  void end(const base::CameraName& name, Entry& entry);

 private:
  using Place = std::pair<base::CameraName, EntryPtr>;
  void look_at(std::vector<Place> places);
  void look_at_both(const Place& first, const Place& second);
  void look(const Place& place, const camera::FramePtr& frame, const jpeg::LumaGrid* grid);
  void carry_out(const Place& place, const Watch::Seen& seen, const camera::FramePtr& frame);
  void save(const base::CameraName& name, Entry& entry, base::MonoTime now);

  const CameraSet& cameras_;
  archive::EventStore& events_;
  archive::StripStore& strips_;
  archive::MotionStateStore& states_;
  boost::asio::thread_pool& workers_;
  const base::Clock& clock_;
  const std::chrono::milliseconds every_;
  const Tell tell_;
};

}  // namespace rookery::station
