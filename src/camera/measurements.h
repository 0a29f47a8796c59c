// Measurements: all that an acceptance test has measured of one camera. What was not measured is empty.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "camera/frame.h"
#include "camera/intervals.h"
#include "vision/banding.h"
#include "vision/exposure.h"
#include "vision/sharpness.h"

namespace rookery::camera {

// One value at a time since the test began; for graphs.
struct SeriesPoint {
  double at_s = 0;
  double value = 0;
};

struct BrokenCount {
  std::string kind;  // a machine word: "no-end", "damaged-scan", …
  std::string explanation;
  std::uint64_t count = 0;
};

struct FrameBytes {
  double p50 = 0, p95 = 0, most = 0;
};

// How the frame rate falls when pictures are large: among the quarter with the largest and with the smallest.
struct Sag {
  double small_bytes = 0, large_bytes = 0;  // medians of the two quarters
  double share = 1;                         // frames a second with large pictures over those with small ones
};

struct TcpMeasures {
  std::size_t samples = 0;
  Millis round_trip{};  // median of the smoothed one
  Millis receive_round_trip{};
  double bit_per_s = 0;  // received over the stream's connections while they were open
  std::uint64_t segments_in = 0;
  std::uint64_t out_of_order_in = 0;
  std::uint64_t retransmitted = 0;  // by us
};

struct StillMeasures {
  int asked = 0;
  int answered = 0;
  Millis p50{}, longest{};
  std::string why_not;  // of the last that failed
  // How much older than asked for what they show is; none: not known, and why.
  std::optional<Millis> oldest;
  std::string age_evidence;
  std::string why_no_age;
};

// One still that came.
struct StillSeen {
  base::MonoTime asked{}, arrived{};
  std::optional<base::Microseconds> stamp;  // of the board's clock
  double level = 0;                         // mean brightness, grey levels
  Millis took() const { return arrived - asked; }
};

// What came while the board was set to one size.
struct SizeStep {
  int value = 0;     // of the profile's key
  PixelSize size;    // as the pictures say
  double bytes = 0;  // of a picture, median
  Intervals intervals;
  std::uint64_t broken = 0;
  double bit_per_s() const { return 8 * bytes * intervals.frames_per_s; }
};

struct SizeMeasures {
  std::string why_not;          // empty: all steps were measured
  std::vector<SizeStep> steps;  // in the order of the profile
  bool set_back = false;
};

struct SecondViewer {
  enum class Answer { served, waits, refused, closed } answer = Answer::waits;
  bool first_suffered = false;  // the first viewer lost its connection, or had a gap
  Millis first_longest{};       // of the first viewer's intervals meanwhile
};

struct Settling {
  bool after_restart = false;                         // else after the stream began
  std::optional<std::chrono::duration<double>> time;  // nothing: not within what was watched
  std::chrono::duration<double> watched{};
};

struct LampMeasures {
  std::string why_not;  // empty when it was switched on
  Intervals intervals;  // while it was on
  int restarts = 0;
  int dropouts = 0;
};

struct Measurements {
  std::string camera;   // its name, or the host
  std::string address;  // without secrets
  std::string profile;
  base::WallTime began{};
  double wanted_s = 0;
  double lasted_s = 0;
  bool interrupted = false;  // by a person
  std::string cut_short;     // why it ended early, else empty
  bool polled = false;       // stills asked for one by one; `poll_every` apart
  std::chrono::milliseconds poll_every{0};
  int rotation = 0;

  PixelSize size;
  std::optional<int> jpeg_quality;  // IJG scale, of the last picture
  std::uint64_t received = 0;
  std::uint64_t whole = 0;
  std::vector<BrokenCount> broken;  // of `received`, those that were not
  std::uint64_t damaged_scans = 0;  // of `whole`: valid markers, damaged data
  std::string last_error;
  std::uint64_t dropouts = 0;
  double longest_without_s = 0;  // the longest time without a picture, reconnections included
  bool stamped = false;          // the board sends stamps of its own clock
  int restarts = 0;              // times that its clock stepped back

  Intervals intervals;
  FrameBytes bytes;
  std::optional<Sag> sag;
  std::string why_no_sag;
  TcpMeasures tcp;
  StillMeasures stills;
  std::optional<SecondViewer> second_viewer;
  std::string why_no_second_viewer;
  std::optional<Settling> settling;
  std::optional<LampMeasures> lamp;
  std::optional<SizeMeasures> sizes;  // none: not asked for

  std::size_t looks = 0;  // pictures that were decoded in full
  double laplacian = 0;   // median
  std::optional<vision::SlantedEdge> edge;
  std::optional<double> noise;
  double dark = 0, bright = 0;  // shares of the picture, medians
  std::size_t banding_looks = 0;
  std::optional<vision::Banding> banding;
  vision::MainsAnswer mains;
  std::size_t hot_pixels = 0, dead_pixels = 0;
  bool pixels_told = false;
  int frozen_times = 0;
  double frozen_longest_s = 0;
  vision::UprightHint upright;

  std::vector<SeriesPoint> intervals_ms, bytes_each, laplacian_each, level_each;
  FramePtr first_still, last_still;  // samples for the report
};

}  // namespace rookery::camera
