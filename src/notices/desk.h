// Desk: takes what happens to events, makes notices by the rules, and has them delivered.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "archive/event_store.h"
#include "camera/frame.h"
#include "notices/notice_queue.h"
#include "notices/notice_store.h"
#include "notices/retry.h"
#include "notices/sender.h"

namespace rookery::notices {

// How a receiver does, beside what is in the queue.
struct ReceiverState {
  std::int64_t receiver = 0;
  std::optional<base::WallTime> failing_since{};  // nothing: the last try went well, or there was none
  std::string last_error{};
  std::optional<base::WallTime> last_delivered{};  // since the station started
};

// What a rule last said yes and no to, since the station started: why there was a notice, and why there was
// none.
struct RuleState {
  struct Judged {
    base::WallTime at;
    base::CameraName camera;
    std::int64_t event = 0;
    Verdict verdict = Verdict::send;
  };
  std::optional<Judged> last_sent;
  std::optional<Judged> last_silent;  // not of another camera: that is no news
};

// What became of a wish to pause, for who shows the job.
struct PauseEnd {
  std::int64_t job = 0;
  bool arrived = false;
  std::string answer;  // the receiver's; or why it was given up
  base::WallTime at;
};

// any-thread. One thread makes notices; each receiver has one that delivers, in the order in which they were
// made, so that one that hangs keeps no other waiting. What waits is stored before anything else is done with
// it: a restart goes on where the last one ended.
class Desk {
 public:
  static constexpr std::size_t kMostTold = 1'000;   // events that wait for the rules, while the disk is slow
  static constexpr std::size_t kMostUnsaved = 500;  // notices that wait to be stored, while the disk is full

  struct Options {
    SenderOptions sender;
    RetryLimits retry;
    NoticeQueue::Limits queue;
    std::chrono::milliseconds look_every{1'000};  // for changed settings, and whether a try is due
    std::uint64_t seed = 0;                       // of the jitter; 0 takes a random one
    // Tests put their own in; null: make_sender.
    std::function<std::unique_ptr<Sender>(const Receiver&)> make;
    // Called in a thread of the desk's, which it may keep waiting for a moment; null: nobody is told.
    std::function<void(const PauseEnd&)> on_pause_end;
  };
  // Both are borrowed and outlive the desk.
  Desk(archive::Catalog& catalog, const base::Clock& clock, Options options);
  ~Desk();
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;

  // Before start(): where the station listens.
  void set_own(std::vector<OwnEndpoint> own);
  void start();
  // Ends what is under way; what could not be delivered stays stored.
  void stop();

  // An event has begun, has grown or has ended. still: what shows it; may be null. Never blocks.
  void tell(const archive::Event& event, const std::string& title, camera::FramePtr still);
  // One test notice to the receiver. Errors: not_found, those of NoticeQueue::add.
  base::Result<void> test(std::int64_t receiver);

  // Asks the receiver, which is a machine's software, to pause; blocks. It goes before all else that waits
  // for that receiver, and is tried again soon. What cannot be delivered within kPauseWithin is given up: a
  // pause that comes late stops another job. Errors: as test(); refused (it is switched off).
  base::Result<void> ask_pause(std::int64_t receiver, const archive::Event& event, const std::string& title,
                               camera::FramePtr still);

  std::vector<ReceiverState> states() const;
  // Of rules that were asked at all, by rule.
  std::map<std::int64_t, RuleState> rule_states() const;
  // Changes of events that were not judged, and notices that were not stored, because too many waited; since
  // the start.
  std::uint64_t lost() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::notices
