// Inner: which events make notices by the rules of the moment, and who has to hear of their ends.
#pragma once

#include <deque>
#include <map>
#include <string>

#include "camera/frame.h"
#include "notices/desk.h"
#include "notices/notice_queue.h"
#include "notices/notice_store.h"

namespace rookery::notices {

// What happened, on its way to the rules.
struct Told {
  archive::Event event;
  std::string title;
  camera::FramePtr still;
};

// strand-bound. An event makes one notice by a rule as soon as the rule holds for it, be it that it grows
// strong enough only later, and one more at its end where that is wanted.
class Judging {
 public:
  Judging(archive::Catalog& catalog, const NoticeQueue& queue, const base::Clock& clock)
      : catalog_(catalog), store_(catalog), queue_(queue), clock_(clock) {}

  // Takes up changed settings. True when there are some.
  bool bring_up_to_date();
  const std::vector<Receiver>& receivers() const& { return receivers_; }

  std::vector<Queued> judge(const Told& told);
  // Ends that are owed of events that are over: those that the last run was killed before, those of a
  // receiver that was off.
  std::vector<Queued> owed();
  // What each rule last said yes and no to, by rule.
  std::map<std::int64_t, RuleState> rule_states() const { return rule_states_; }

 private:
  struct Owed {
    OwedEnd end;
    std::optional<archive::Event> over;  // the event, once it is over
    bool is_over = false;
  };
  using Place = std::pair<std::int64_t, std::string>;  // a rule, a camera

  bool is_wanted(const Rule& rule, const archive::Event& event, base::WallTime now);
  const Receiver* receiver(std::int64_t id) const;
  void add_for(const Rule& rule, const Told& told, What what, base::WallTime now, std::vector<Queued>& made);
  bool is_owed(std::int64_t receiver, std::int64_t event) const;
  void owe(OwedEnd end, const archive::Event& event);
  bool load_owed();

  archive::Catalog& catalog_;
  const NoticeStore store_;
  const NoticeQueue& queue_;
  const base::Clock& clock_;
  std::int64_t version_ = -1;
  std::vector<Receiver> receivers_;
  std::vector<Rule> rules_;
  std::optional<base::WallTime> snoozed_until_;
  // (rule, event) of the last ones that were noticed, and whether their end was told.
  using Key = std::pair<std::int64_t, std::int64_t>;
  static constexpr std::size_t kRemembered = 1'000;
  void remember(const Key& key);
  std::map<Key, bool> noticed_;
  std::deque<Key> noticed_order_;
  // When a rule last told of a camera, beside what is stored: on a full disk nothing is.
  std::map<Place, base::WallTime> last_made_;
  std::map<std::int64_t, RuleState> rule_states_;
  bool is_owed_loaded_ = false;
  std::vector<Owed> owed_;
};

}  // namespace rookery::notices
