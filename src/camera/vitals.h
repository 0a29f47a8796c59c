// Vitals: how well a camera does, as numbers: read every ten seconds, summed up by the minute.
#pragma once

#include <optional>

#include "base/time.h"
#include "camera/arrivals.h"
#include "camera/status.h"

namespace rookery::camera {

inline constexpr base::Seconds kVitalsEvery{10};
inline constexpr std::chrono::minutes kVitalsStep{1};

// Of one span of time, a minute or longer.
struct Vitals {
  double live = 0;           // share of the time in which it was live, 0 to 1
  double frames_per_s = 0;   // whole pictures, over the whole span
  double bytes_a_frame = 0;  // 0 when none came
  double longest_gap_s = 0;  // between two pictures
  double jitter_s = 0;       // as ArrivalSpan
  double broken = 0;         // pictures and parts that were rejected
  double connects = 0;       // connections that were established
  double dropouts = 0;
  std::optional<double>
      light;  // mean of the picture, grey levels 0 to 255; none: no picture could be decoded

  bool operator==(const Vitals&) const = default;
};

// Several spans of the same length as one: means of what is a rate, sums of what is counted, the longest gap.
// Not of none.
class VitalsSum {
 public:
  void add(const Vitals& vitals);
  bool empty() const { return spans_ == 0; }
  Vitals mean() const;

 private:
  Vitals sum_;
  double frames_ = 0;  // weights of bytes_a_frame
  double light_ = 0;
  int lit_ = 0;
  int spans_ = 0;
};

// Pure: all is given. Not for several threads at once.
class VitalsBook {
 public:
  struct Reading {
    State state{};
    Counters counters;     // since the station started; they never go back
    ArrivalSpan arrivals;  // since the last reading
    std::optional<double> light;
  };
  struct Minute {
    base::WallTime at;  // its beginning, a whole minute
    Vitals vitals;
  };
  // To be called about every ten seconds, with how long it has been since the last call (measured, not by the
  // wall clock). Returns the minute that ended, when one did and it was measured for half of its time at
  // least: of a camera that is off there is none.
  std::optional<Minute> read(const Reading& reading, base::WallTime now, std::chrono::nanoseconds since);

 private:
  struct Open {
    base::WallTime at;
    Vitals sum{};
    double measured_s = 0;
    double live_s = 0;
    double frames = 0;
    double bytes = 0;
    double light = 0;
    int lit = 0;
  };
  static std::optional<Minute> close(const Open& open);

  std::optional<Counters> last_;
  std::optional<Open> open_;
};

}  // namespace rookery::camera
