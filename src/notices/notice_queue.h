// Notices on their way, in the catalog: stored until they are delivered or given up, and a while longer.
#pragma once

#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "notices/notice.h"

namespace rookery::notices {

enum class State : std::uint8_t {
  waiting,    // to be tried, or tried again
  delivered,  // the receiver has it
  given_up,   // the receiver could not be reached for too long
  dropped,    // too many were waiting, and this was the oldest
};
// "waiting", "delivered", "given-up", "dropped".
std::string_view name_of(State state);
std::optional<State> state_of(std::string_view word);

struct Queued {
  Notice notice;
  std::int64_t receiver = 0;
  std::optional<std::int64_t> rule;   // none: a test, or an end that was owed
  std::optional<std::int64_t> event;  // id
  State state = State::waiting;
  unsigned tries = 0;
  base::WallTime next;                 // when it is tried, or tried again
  std::optional<base::WallTime> done;  // delivered, given up or dropped
  std::string answer;                  // to the last try
  bool owes_end = false;               // begun: this receiver shows a state, and has to hear of the end
};

// A receiver that shows a state was told that an event has begun, and not yet that it is over.
struct OwedEnd {
  std::int64_t receiver = 0;
  std::int64_t event = 0;
  std::string camera;
  std::string title;
  bool motion = false;  // as of the notice that it had
};

// Of one receiver.
struct QueueCounts {
  std::int64_t receiver = 0;
  std::uint64_t waiting = 0;
  std::uint64_t delivered = 0;  // since the receiver was added; as are the next two
  std::uint64_t given_up = 0;
  std::uint64_t dropped = 0;
  std::optional<base::WallTime> oldest_waiting;  // when it was made
};

// any-thread. Errors beside those named: those of Catalog::write and ::read.
class NoticeQueue {
 public:
  static constexpr std::size_t kMostStill_bytes = 1u << 20;  // a larger one is left out

  struct Limits {
    std::size_t most_waiting = 1'000;  // of one receiver; the oldest are dropped, with a count
    std::size_t most_done = 1'000;     // of one receiver; older ones are forgotten
  };
  explicit NoticeQueue(archive::Catalog& catalog) : NoticeQueue(catalog, Limits()) {}
  NoticeQueue(archive::Catalog& catalog, Limits limits) : catalog_(catalog), limits_(limits) {}

  // All of them or none. Their ids, states and tries are ignored; each waits from when it was made. One for a
  // receiver that is gone is left out. What has begun with owes_end is owed until its end is added.
  base::Result<void> add(const std::vector<Queued>& notices);

  // The one that the receiver gets next: the oldest wish to pause that is waiting, else the oldest of all.
  base::Result<std::optional<Queued>> head(std::int64_t receiver) const;
  base::Result<void> note_delivered(std::int64_t id, const std::string& answer, base::WallTime at);
  base::Result<void> note_failed(std::int64_t id, const std::string& answer, base::WallTime next);
  base::Result<void> give_up(std::int64_t id, const std::string& answer, base::WallTime at);
  // All of the receiver that were made until then, but for ends that switch a state back: it would stay
  // wrong. answer: of those that were never tried. Returns how many.
  base::Result<std::size_t> give_up_all(std::int64_t receiver, base::WallTime made_until,
                                        const std::string& answer, base::WallTime at);

  // The newest first, without their stills. before: an id.
  base::Result<std::vector<Queued>> log(std::optional<std::int64_t> receiver, std::optional<State> state,
                                        std::optional<std::int64_t> before, std::size_t limit) const;
  base::Result<std::vector<OwedEnd>> owed_ends() const;
  // When the rule last said of the camera that something has begun.
  base::Result<std::optional<base::WallTime>> last_made(std::int64_t rule,
                                                        const base::CameraName& camera) const;
  // Of every receiver, by id.
  base::Result<std::vector<QueueCounts>> counts() const;

 private:
  base::Result<void> finish(std::int64_t id, State state, const std::string& answer, base::WallTime at);

  archive::Catalog& catalog_;
  const Limits limits_;
};

}  // namespace rookery::notices
