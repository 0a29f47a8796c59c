// Jobs: has the cameras' jobs watched, and begins and ends those that nobody begins and ends by hand.
#pragma once

#include <atomic>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/thread_pool.hpp>

#include "archive/job_store.h"
#include "archive/recorder.h"
#include "base/repeated.h"
#include "notices/desk.h"
#include "station/camera_set.h"
#include "station/job_run.h"

namespace rookery::station {

// What there is to say of a job under way.
struct JobView {
  vision::JobNow now;
  std::vector<vision::JobSign> standing;     // the worst first
  std::optional<base::WallTime> last_still;  // none: no picture came yet
  int width = 0;                             // of `growth`, cells
  int height = 0;
  std::vector<std::uint8_t> growth;  // as vision::JobWatch::growth
};

// any-thread.
class Jobs {
 public:
  struct Options {
    std::chrono::milliseconds look{500};      // whether a still is due
    std::chrono::milliseconds settle{1'000};  // what others changed in the catalog; schedules
    std::chrono::milliseconds save{300'000};  // what the watches have learned
    std::function<std::int64_t()> next_event_id;
    std::function<void(const archive::Event&, const std::string& title, camera::FramePtr)> tell;
    std::function<void()> on_over;  // a job is over: its film may be wanted
    // Asks the receiver to pause the machine. May block.
    std::function<base::Result<void>(std::int64_t receiver, const archive::Event&, const std::string& title,
                                     camera::FramePtr)>
        ask_pause;
  };
  // All of it outlives this. `computing` decodes, `reading` asks the catalog.
  Jobs(const CameraSet& cameras, archive::Catalog& catalog, archive::EventStore& events,
       archive::Recorder& recorder, boost::asio::thread_pool& computing, boost::asio::thread_pool& reading,
       const base::Clock& clock, Options options);
  ~Jobs();

  // Goes on until it is cancelled.
  boost::asio::awaitable<void> run();
  // What is learned is saved; jobs go on with the next start. Call it when run() has ended and before the
  // pools are gone.
  void stop();

  // Takes up what changed in the catalog now. Blocks. Errors: those of the catalog.
  base::Result<void> settle();
  // What became of a wish to pause is a step of its job.
  void note_pause(const notices::PauseEnd& end);
  // Of the job under way; nothing when the camera has none, or it was not taken up yet.
  std::optional<JobView> view(const base::CameraName& camera) const;

 private:
  struct Place;
  using PlacePtr = std::shared_ptr<Place>;

  void look_at(const base::CameraName& name, const EntryPtr& entry, const PlacePtr& place);
  void look(const base::CameraName& name, Entry& entry, Place& place);
  void look_at_job(const base::CameraName& name, Entry& entry, Place& place, const camera::FramePtr& frame);
  void sense(const base::CameraName& name, Place& place, const camera::FramePtr& frame);
  void carry_out(const base::CameraName& name, Place& place, const JobRun::Outcome& outcome,
                 const std::string& title, const camera::FramePtr& frame);
  void ask_pause(std::int64_t receiver, const archive::Event& event, const std::string& title,
                 const camera::FramePtr& frame);
  void end(const archive::Job& job, const JobRun::End& how);
  base::Result<void> take_up(const archive::Job& job, const archive::JobSettings& settings);
  void let_go(const base::CameraName& name, Place& place);
  void forget_removed();
  void follow_hours(const base::CameraName& name, const archive::JobSettings& settings);
  void save_all(bool now);
  PlacePtr place_of(const base::CameraName& name);

  const CameraSet& cameras_;
  archive::JobStore store_;
  archive::EventStore& events_;
  archive::Recorder& recorder_;
  boost::asio::thread_pool& computing_;
  boost::asio::thread_pool& reading_;
  const base::Clock& clock_;
  const Options options_;
  std::atomic<bool> settling_{false};
  base::Repeated settle_trouble_;  // of who has set settling_
  std::mutex settle_mutex_;        // one at a time; taken before the others
  mutable std::mutex mutex_;
  std::map<base::CameraName, PlacePtr> places_;
};

}  // namespace rookery::station
