// The station's side: what it reads, how it tries again, what it asks in a gap; as camera/pull.h and
// camera/gap_watch.h, without sockets. It tells a real recorder what it sees.
#pragma once

#include <optional>
#include <utility>

#include "bench/causes/wire.h"
#include "bench/causes/world.h"
#include "camera/gap_recorder.h"

namespace rookery::bench {

class StationSide {
 public:
  // Both outlive this.
  StationSide(World& world, Wire& wire) : world_(world), wire_(wire) {}
  void begin_stream();
  void step();
  // While it does not get to run.
  void pause() { was_paused_ = true; }
  // A dropout that is over; once.
  std::optional<camera::DropoutSeen> take() { return std::exchange(told_, std::nullopt); }
  bool calm() const { return wire_.conn.open && !recorder_.gap_since() && quiet_; }

 private:
  struct Attempt {
    double began = 0, answers_at = 0;
    int tries = 0;
    bool connected = false;
    bool stranger = false;
  };

  void read();
  void take_picture(const Waiting& one);
  void end_attempt(camera::AttemptEnd how);
  void pull();
  void knock(Attempt& attempt, double age);
  void keep_alive();
  void tick();
  void sample_link();
  void probe();
  camera::ProbeAnswer answer_to(camera::ProbeKind kind);

  World& world_;
  Wire& wire_;
  std::optional<Attempt> attempt_;
  std::uint64_t connections_ = 0;
  int failures_ = 0;
  double retry_at_ = 0, tick_at_ = 1, connect_due_ = 0, echo_due_ = 0, smooth_rtt_ = 0.008, last_told_ = -100;
  bool was_paused_ = false, quiet_ = true;
  camera::GapRecorder recorder_;
  std::optional<camera::DropoutSeen> told_;
};

}  // namespace rookery::bench
