// GapRecorder: keeps what was lately seen of one camera, notices when pictures stop, and hands out what is
// known of the gap when it is over. A state machine without I/O or clock.
#pragma once

#include <deque>
#include <optional>

#include "base/time.h"
#include "camera/dropout.h"

namespace rookery::camera {

struct GapLimits {
  std::chrono::milliseconds look{1000};       // how often it is looked at (gap_watch.h)
  std::chrono::milliseconds ask_after{2000};  // the board is asked from so long into a gap on
  // A gap is a dropout from here on, or from 5 usual intervals if that is more; or as soon as the connection
  // ends.
  std::chrono::milliseconds least{2000};
  // Pictures have to come for so long until a dropout is over: what comes first tells of a restart.
  std::chrono::milliseconds settle{5000};
  // So long after it began, what is known by then is told.
  std::chrono::milliseconds first_word{60000};
};

// strand-bound. Times are monotonic and never fall.
class GapRecorder {
 public:
  explicit GapRecorder(GapLimits limits = {}) : limits_(limits) {}

  // What happens, as it happens.
  // frame: the picture itself, null where nobody has it. Two of them are held while a dropout settles.
  void picture(const PictureSeen& picture, FramePtr frame = nullptr);
  void broken(base::MonoTime at);
  void ended(const AttemptSeen& attempt);  // not when a person ended it: forget()
  void link(const LinkSample& sample);
  void late(const LateSeen& late);
  void probe(const ProbeSeen& probe);
  void moved(base::MonoTime at);  // it answers at another address
  void forget();                  // a person stopped or changed the camera: what follows is no dropout

  // In a dropout that is not over, and no picture has come again: questions may be asked. Also when it began.
  std::optional<base::MonoTime> gap_since() const;
  bool gives_pictures() const { return phase_ == Phase::live || phase_ == Phase::settling; }
  std::optional<PictureSeen> last_picture() const;
  base::MonoTime began() const { return now_.began; }  // of the last dropout

  std::uint64_t dropouts() const { return numbers_; }  // that began, since the recorder is there

  // Once a second or more often. True when a dropout has begun since the last look.
  bool look(base::MonoTime now, base::WallTime wall);
  // What there is to tell: a dropout that is over, or the first word about one that is not; once each.
  std::optional<DropoutSeen> take(base::MonoTime now);
  // For the one that is under way; ignored when there is none.
  void set_others(const OthersSeen& others) { now_.others = others; }
  void set_disk_full(bool full) { now_.disk_full = full; }

 private:
  enum class Phase { idle, live, gap, settling };
  static constexpr std::size_t kKept = 64;
  void begin();
  void count_minute(const PictureSeen& picture);
  std::chrono::nanoseconds bound() const;

  GapLimits limits_;
  Phase phase_ = Phase::idle;
  bool told_ = false;                    // the first word
  bool begun_ = false;                   // since the last look
  base::Microseconds wall_less_mono_{};  // at the last look
  std::uint64_t numbers_ = 0;
  DropoutSeen now_;  // under way, in gap and settling
  std::deque<PictureSeen> pictures_;
  std::deque<base::MonoTime> broken_;
  std::deque<LinkSample> link_;
  std::deque<LateSeen> late_;
  std::deque<float> minutes_;
  std::optional<base::MonoTime> minute_began_;
  double minute_bytes_ = 0;
  int minute_pictures_ = 0;
  std::uint64_t connection_ = 0;
  base::MonoTime streaming_since_{};
  base::MonoTime settling_since_{};
};

}  // namespace rookery::camera
