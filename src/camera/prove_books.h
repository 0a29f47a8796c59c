// ProveBooks: gathers what comes during an acceptance test and makes Measurements of it. No I/O, no clock:
// times come with what is told.
#pragma once

#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "camera/frame.h"
#include "camera/measurements.h"
#include "camera/status.h"
#include "jpeg/luma_grid.h"
#include "jpeg/luma_plane.h"
#include "net/tcp_vitals.h"
#include "vision/lone_pixels.h"
#include "vision/same_picture.h"

namespace rookery::camera {

enum class ProvePhase {
  plain,
  lamp,
  sizes,  // other sizes than the board's own: nothing but arrival and bytes is noted
  second_viewer,
};

// strand-bound.
class ProveBooks {
 public:
  explicit ProveBooks(base::MonoTime began);

  // From now on. The time between a picture before and one after a new phase is no interval.
  void phase(ProvePhase phase);
  // Pictures are asked for one by one, maybe each by a connection of its own: that makes no new beginning.
  void asked_one_by_one() { one_by_one_ = true; }
  // Our own doing ended the connection: what follows is no dropout and no gap.
  void interrupted_by_us();

  // A picture, in order of arrival. Of every one arrival, bytes and light are noted; one in full is decoded
  // when the last was at least look_every() before. Returns whether this one was.
  bool frame(const FramePtr& frame);
  std::chrono::nanoseconds look_every() const { return look_every_; }
  // Looks are made rarer when they take too much of the computer.
  void set_look_every(std::chrono::nanoseconds every) { look_every_ = every; }

  // The stream's connection, about once a second.
  void tcp(const std::optional<net::TcpVitals>& vitals, base::MonoTime now);
  // A still of the still address, or why it did not come.
  void still(const base::Result<StillSeen>& seen);

  // When the last picture came.
  std::optional<base::MonoTime> last_frame() const;
  std::uint64_t frames() const { return frames_; }
  int restarts() const { return restarts_; }
  // Intervals of one phase.
  Intervals intervals(ProvePhase phase) const;
  // Of the pictures since phase() was called last: intervals, and median of bytes.
  Intervals intervals_now() const;
  double bytes_now() const;

  // All of it. `status`: the pull's, at the end. `readout`: the sensor's for a picture's height, where the
  // profile knows it.
  Measurements close(const Status& status, base::MonoTime now,
                     const std::function<std::optional<std::chrono::duration<double>>(int)>& readout) const;

 private:
  void look(const FramePtr& frame);
  void note_rows(const FramePtr& frame);
  void note_start(const FramePtr& frame, bool new_connection, bool restarted);
  void fill_pictures(Measurements& out) const;
  void fill_banding(Measurements& out,
                    const std::function<std::optional<std::chrono::duration<double>>(int)>& readout) const;
  void fill_tcp(Measurements& out) const;
  void fill_stills(StillMeasures& out) const;
  double seconds(base::MonoTime at) const;

  struct One {
    ArrivedAt arrived;
    ProvePhase phase;
    double bytes;
  };
  struct Start {
    bool restart = false;
    base::MonoTime at{};
    std::vector<vision::LevelAt> levels;
  };

  const base::MonoTime began_;
  std::chrono::nanoseconds look_every_{std::chrono::seconds(1)};
  ProvePhase phase_ = ProvePhase::plain;
  std::size_t phase_begins_ = 0;  // in ones_
  bool one_by_one_ = false;
  bool breaks_ = true;  // the next picture begins anew
  bool ours_ = true;    // … by our own doing

  std::uint64_t frames_ = 0;
  std::vector<One> ones_;
  std::optional<std::uint64_t> connection_;
  int restarts_ = 0;
  bool stamped_ = false;
  double longest_without_s_ = 0;
  std::vector<Start> starts_;

  jpeg::LumaGrid grid_;
  jpeg::LumaPlane plane_;
  std::uint64_t damaged_scans_ = 0;
  vision::SamePicture same_;
  vision::LonePixels lone_;
  std::optional<base::MonoTime> looked_;
  bool rows_next_ = false;  // the second of two that follow each other
  std::size_t looks_ = 0;
  std::vector<double> laplacian_, noise_, dark_, bright_, upper_, lower_;
  std::optional<vision::SlantedEdge> edge_;
  std::vector<vision::RowMeans> rows_;
  std::optional<int> jpeg_quality_;
  std::vector<SeriesPoint> laplacian_each_, level_each_;
  FramePtr first_still_, last_still_;

  std::optional<net::TcpVitals> tcp_before_;
  base::MonoTime tcp_at_{};
  double tcp_open_s_ = 0;
  TcpMeasures tcp_;
  std::uint64_t tcp_bytes_ = 0;
  std::vector<double> round_trips_ms_, receive_round_trips_ms_;

  StillMeasures stills_;
  std::vector<StillSeen> stills_seen_;
};

}  // namespace rookery::camera
