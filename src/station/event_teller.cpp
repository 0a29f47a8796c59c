#include "station/event_teller.h"

namespace rookery::station {

using vision::MotionEvent;
using What = EventChange::What;

std::vector<EventChange> EventTeller::tell(const std::optional<MotionEvent>& over,
                                           const std::optional<MotionEvent>& under_way, base::Microseconds at,
                                           base::WallTime wall) {
  std::vector<EventChange> changes;
  if (over && over->cause == MotionEvent::Cause::motion) {
    if (!event_) {
      begin(*over, at, wall);
      changes.push_back({What::begun, *event_});
    }
    bring_up_to_date(*over);
    end(changes);
  } else if (over && event_ && !under_way) {
    // What seemed to move was a lamp coming on: the same event, of another cause.
    event_->cause = archive::event_cause(over->cause);
    bring_up_to_date(*over);
    moment_ = Moment{*event_, began_, over->end};
    end(changes);
  } else if (over) {
    tell_moment(*over, at, wall, changes);
  }
  if (event_ && !under_way) end(changes);
  if (!under_way) return changes;
  if (!event_) {
    begin(*under_way, at, wall);
    changes.push_back({What::begun, *event_});
    return changes;
  }
  bring_up_to_date(*under_way);
  if (under_way->end - told_ >= kGrown) {
    told_ = under_way->end;
    changes.push_back({What::grown, *event_});
  }
  return changes;
}

void EventTeller::begin(const MotionEvent& motion, base::Microseconds at, base::WallTime wall) {
  event_ = archive::Event(name_);
  event_->id = next_id_();
  event_->cause = archive::event_cause(motion.cause);
  event_->start = wall - (at - motion.start);
  event_->under_way = true;
  began_ = motion.start;
  told_ = motion.end;
  bring_up_to_date(motion);
}

void EventTeller::bring_up_to_date(const MotionEvent& motion) {
  event_->end = event_->start + (motion.end - began_);
  event_->best_at = event_->start + (motion.best_at - began_);
  event_->peak = motion.peak;
  event_->region = vision::share_of(motion.box, motion.grid_width, motion.grid_height);
}

void EventTeller::tell_moment(const MotionEvent& moment, base::Microseconds at, base::WallTime wall,
                              std::vector<EventChange>& changes) {
  if (moment_ && moment_->event.cause == archive::event_cause(moment.cause) && moment.start - moment_->ended < kMomentsJoin) {
    moment_->ended = moment.end;
    moment_->event.end = moment_->event.start + (moment.end - moment_->began);
    changes.push_back({What::grown, moment_->event});
    return;
  }
  // What is under way goes on beside it.
  auto lasting = std::exchange(event_, std::nullopt);
  const auto began = began_;
  const auto told = told_;
  begin(moment, at, wall);
  changes.push_back({What::begun, *event_});
  moment_ = Moment{*event_, moment.start, moment.end};
  moment_->event.under_way = false;
  end(changes);
  event_ = std::move(lasting);
  began_ = began;
  told_ = told;
}

void EventTeller::end(std::vector<EventChange>& changes) {
  event_->under_way = false;
  changes.push_back({What::ended, *std::move(event_)});
  event_.reset();
  ++ended_;
}

}  // namespace rookery::station
