// EventTeller: what a detector finds, told as events of the log: with ids, on the wall clock, moments joined.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "archive/event_store.h"
#include "base/time.h"
#include "vision/motion_events.h"

namespace rookery::station {

// What happened to an event.
struct EventChange {
  enum class What {
    begun,
    grown,  // lasts on, or is of another cause than it seemed
    ended,
  };
  What what = What::begun;
  archive::Event event;
};

// strand-bound. Pure: times and ids are given. A detector's times are of the monotonic clock; an event's
// start is put on the wall clock when it begins, and its end follows by its length: a clock that is set
// meanwhile makes no event end before it began.
class EventTeller {
 public:
  // Lamps, or views, that come closer together than this are one event: a lamp that flickers, a board that
  // shows two scenes in turn.
  static constexpr base::Seconds kMomentsJoin{30};
  // How often what lasts is told to have grown.
  static constexpr base::Seconds kGrown{5};

  // next_id: gives each event its id.
  EventTeller(base::CameraName name, std::function<std::int64_t()> next_id)
      : name_(std::move(name)), next_id_(std::move(next_id)) {}

  // over, under_way: a detector's, after the picture of `at`, which came at `wall`.
  std::vector<EventChange> tell(const std::optional<vision::MotionEvent>& over,
                                const std::optional<vision::MotionEvent>& under_way, base::Microseconds at,
                                base::WallTime wall);

  const std::optional<archive::Event>& under_way() const& { return event_; }
  std::uint64_t ended() const { return ended_; }  // so far

 private:
  void begin(const vision::MotionEvent& motion, base::Microseconds at, base::WallTime wall);
  void bring_up_to_date(const vision::MotionEvent& motion);
  void tell_moment(const vision::MotionEvent& moment, base::Microseconds at, base::WallTime wall,
                   std::vector<EventChange>& changes);
  void end(std::vector<EventChange>& changes);

  // A lamp or a view, over as soon as it begins.
  struct Moment {
    archive::Event event;
    base::Microseconds began{};
    base::Microseconds ended{};
  };

  base::CameraName name_;
  std::function<std::int64_t()> next_id_;
  std::optional<archive::Event> event_;  // under way
  base::Microseconds began_{};           // its start, as the detector counts
  base::Microseconds told_{};            // its end, when it was last told
  std::optional<Moment> moment_;         // the last one
  std::uint64_t ended_ = 0;
};

}  // namespace rookery::station
