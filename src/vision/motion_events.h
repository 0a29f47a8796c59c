// From frames that move to events: when something happened, how long, how strong, where.
#pragma once

#include <cstdint>
#include <optional>

#include "base/time.h"
#include "vision/cell_box.h"
#include "vision/motion_detector.h"

namespace rookery::vision {

struct MotionEvent {
  enum class Cause : std::uint8_t {
    motion,    // something moved
    lighting,  // a lamp was switched
    view,      // the camera was moved or covered, or shows another scene
  };
  Cause cause = Cause::motion;
  // Of the first trace of what moved; of the lamp, if it moved as soon as could be told.
  base::Microseconds start{};
  base::Microseconds end{};  // of the last picture in which it moved
  double peak = 0;           // share of the picture that moved at the most
  CellBox box;               // all that it touched
  int grid_width = 0;        // cells, of the grid that `box` is in
  int grid_height = 0;
  base::Microseconds best_at{};  // of the picture in which most of it moved
};

// "motion", "lighting", "view".
std::string_view name_of(MotionEvent::Cause cause);
// Nothing for any other word.
std::optional<MotionEvent::Cause> cause_of(std::string_view word);

// Feeds on a detector's frames in order. So much must move for so long: the smallest thing that counts for
// kHold, what is larger for less. Frames that move less than kGap apart are one event.
class MotionEvents {
 public:
  static constexpr base::Microseconds kGap{5'000'000};
  static constexpr base::Microseconds kHold{1'000'000};

  explicit MotionEvents(Sensitivity sensitivity = {}) : sensitivity_(sensitivity) {}
  void set(Sensitivity sensitivity) { sensitivity_ = sensitivity; }

  // The event that is over with this frame, if one is.
  std::optional<MotionEvent> add(const MotionFrame& frame, int grid_width, int grid_height);
  // The one under way, as it is now.
  const std::optional<MotionEvent>& under_way() const& { return event_; }
  // Ends what is under way.
  std::optional<MotionEvent> finish();

 private:
  void take(const MotionFrame& frame, int grid_width, int grid_height);

  Sensitivity sensitivity_;
  std::optional<MotionEvent> event_;
  std::optional<MotionEvent> perhaps_;  // has not lasted long enough yet
  // A moment in the very picture that ended an event: told with the next.
  std::optional<MotionEvent> waiting_;
  std::optional<base::Microseconds> switched_;  // the last lamp
  base::Microseconds dazzled_{};                // the last picture of that
  double evidence_s_ = 0;                       // share of the picture times seconds, leaking away
  std::optional<base::Microseconds> last_;
};

}  // namespace rookery::vision
