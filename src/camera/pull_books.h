// Inside of Pull (pull.cpp): what is known about one camera, guarded by a mutex so that any thread may look.
#pragma once

#include <deque>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "camera/arrivals.h"
#include "camera/feed.h"
#include "camera/gap_recorder.h"
#include "camera/pull.h"
#include "camera/session.h"
#include "camera/settings.h"
#include "camera/status.h"

namespace rookery::camera {

// The books of one camera: session, counters, rates. any-thread. After close() nothing is published and the
// clock is not looked at any more.
class PullBooks {
 public:
  PullBooks(Settings settings, const PullLimits& limits, const base::Clock& clock, std::uint64_t seed);

  const std::shared_ptr<Feed>& feed() const& { return feed_; }
  const std::shared_ptr<Feed>& feed() const&& = delete;

  // By a person.
  void start();
  void stop();
  // True when the loop has to look again.
  bool set(Settings settings);
  void close();

  // By the loop.
  Session::Next next();
  // Begins an attempt, when next() still says so: the settings that it is for. Nothing when a person stopped
  // or changed the camera since the loop asked.
  std::optional<Settings> opening();
  void opened();
  void turned_out_single();
  void rested();
  // how: what ended the attempt, as far as it did not end as it should.
  void ended(std::optional<base::Error> error, AttemptSeen how = {});
  void connected(std::uint64_t connects);  // ever, as the client counts
  bool must_end() const;
  bool under_way() const;
  bool polling() const;
  // Bytes but no whole picture for too long.
  bool fruitless() const;
  // How long until `when`; zero or more.
  std::chrono::nanoseconds until(base::MonoTime when) const;

  // A picture that came: walked, counted, published when whole. Errors: malformed, with the kind. A picture
  // of an attempt that was overtaken is neither counted nor published.
  // stamp: the board's own clock, where it said it.
  base::Result<void> accept(std::vector<std::byte> jpeg,
                            std::optional<base::Microseconds> stamp = std::nullopt);
  // The same for one that a board pushed. Errors: also unsupported, refused.
  base::Result<void> push(std::vector<std::byte> jpeg);
  // A part that the reader gave up, or a still that was too large.
  void count_given_up();

  Status status() const;
  // As Arrivals::take, of whole pictures.
  ArrivalSpan take_arrivals();

  // Dropouts (gap_recorder.h). By whoever looks once a second; link: nothing when there is no connection.
  struct GapLook {
    std::optional<base::MonoTime> gap_since;     // in a gap: questions may be asked
    std::optional<base::MonoTime> began;         // it was noticed just now
    std::optional<base::MonoTime> last_picture;  // while pictures come
    std::optional<DropoutSeen> over;             // to be told
  };
  GapLook look_for_gaps(std::optional<LinkSample> link, base::Microseconds late);
  void probed(ProbeKind kind, ProbeAnswer answer, base::Microseconds took);
  void moved();
  bool long_since(base::MonoTime then, std::chrono::nanoseconds than) const;

  // Why the last picture of this attempt was broken; empty when none was or one was good since.
  std::string last_fault() const;
  std::string name() const;

 private:
  enum class Origin { attempt, pushed };
  base::Result<void> take(std::vector<std::byte> jpeg, Origin origin,
                          std::optional<base::Microseconds> stamp);
  std::optional<base::Error> push_refusal() const;
  base::MonoTime mono() const;
  base::WallTime wall_of(base::MonoTime then, base::MonoTime now) const;
  void trim(base::MonoTime now);

  const std::shared_ptr<Feed> feed_ = std::make_shared<Feed>();
  const base::Clock& clock_;

  // Held while a frame is published, so that close() can promise that none will be. Taken before mutex_.
  std::mutex publishing_;
  mutable std::mutex mutex_;
  Settings settings_;
  bool started_ = false;
  bool closed_ = false;
  mutable base::MonoTime last_mono_;
  mutable base::WallTime last_wall_;
  Session session_;
  Counters counters_;
  std::uint64_t number_ = 0;
  std::optional<base::WallTime> last_frame_at_;
  PixelSize size_;
  std::string last_fault_;
  struct Arrival {
    base::MonoTime at;
    std::size_t bytes;
  };
  std::deque<Arrival> recent_;  // of the last 5 s
  Arrivals arrivals_;
  GapRecorder gaps_;
};

}  // namespace rookery::camera
