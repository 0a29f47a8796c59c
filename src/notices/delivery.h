// Inner: one receiver's thread, which delivers what is queued for it.
#pragma once

#include <condition_variable>
#include <mutex>
#include <random>
#include <thread>

#include "notices/desk.h"

namespace rookery::notices {

// any-thread. A receiver that fails is left alone for a while, whatever is queued for it; a new Delivery (a
// start, changed settings) tries at once.
class Delivery {
 public:
  // What it borrows outlives it. make: makes the sender, in the delivery's own thread.
  Delivery(Receiver receiver, NoticeQueue& queue, const base::Clock& clock, const RetryLimits& retry,
           std::chrono::milliseconds look_every, std::function<std::unique_ptr<Sender>(const Receiver&)> make,
           std::function<void(const PauseEnd&)> on_pause_end, std::uint64_t seed);
  ~Delivery();  // ends what is under way
  Delivery(const Delivery&) = delete;
  Delivery& operator=(const Delivery&) = delete;

  const Receiver& receiver() const& { return receiver_; }
  void wake();  // something is queued
  void ask_to_stop() { thread_.request_stop(); }
  ReceiverState state() const;

 private:
  // What became of a notice.
  struct Ending {
    std::int64_t id = 0;
    std::optional<std::int64_t> paused_job;  // it was a wish that this one's machine pauses
    State state = State::delivered;          // or given_up
    std::string answer;
    base::WallTime at;
  };

  void run(const std::stop_token& stop);
  // One notice, if one is due. How long there is nothing to do.
  std::chrono::milliseconds step(Sender& sender, const std::stop_token& stop);
  static std::optional<std::int64_t> paused_job_of(const Notice& notice);
  void tell_pause_end();
  void send(const Queued& queued, Sender& sender, const std::stop_token& stop);
  std::size_t give_up_old(const Queued& head, base::WallTime now);
  bool is_stored();
  void note_success(std::int64_t id, const std::string& answer);
  void note_failure(const Queued& queued, const base::Error& error);
  void say_failing(const std::string& text);

  const Receiver receiver_;
  NoticeQueue& queue_;
  const base::Clock& clock_;
  const RetryLimits retry_;
  const std::chrono::milliseconds look_every_;
  const std::function<std::unique_ptr<Sender>(const Receiver&)> make_;
  const std::function<void(const PauseEnd&)> on_pause_end_;
  std::mt19937_64 random_;
  unsigned failures_ = 0;            // in a row; the thread's, as are the next three
  base::MonoTime not_before_;        // when it is tried again
  base::MonoTime pause_not_before_;  // … with a wish to pause, which does not wait for the above
  std::optional<Ending> ending_;     // one that the disk did not take yet: until then nothing more is sent

  mutable std::mutex mutex_;
  std::condition_variable_any woken_;
  bool is_woken_ = false;
  ReceiverState state_;
  std::jthread thread_;  // the last: it uses all of the above
};

}  // namespace rookery::notices
