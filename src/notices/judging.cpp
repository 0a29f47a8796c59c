#include "notices/judging.h"

#include <algorithm>
#include <boost/json/serialize.hpp>
#include <iterator>

#include "archive/event_json.h"
#include "base/log.h"

namespace rookery::notices {

bool Judging::bring_up_to_date() {
  const std::int64_t version = catalog_.settings_version();
  if (version == version_) return false;
  auto receivers = store_.receivers();
  auto rules = store_.rules();
  auto snoozed = store_.snoozed_until();
  for (const base::Error* error : {receivers ? nullptr : &receivers.error(), rules ? nullptr : &rules.error(),
                                   snoozed ? nullptr : &snoozed.error()}) {
    if (error == nullptr) continue;
    base::log_warning("notices", "{}", error->text());
    return false;  // with those known so far, and tried again
  }
  version_ = version;
  receivers_ = std::move(*receivers);
  rules_ = std::move(*rules);
  snoozed_until_ = *snoozed;
  return true;
}

const Receiver* Judging::receiver(std::int64_t id) const {
  const auto found = std::ranges::find(receivers_, id, &Receiver::id);
  return found == receivers_.end() || !found->enabled ? nullptr : &*found;
}

bool Judging::is_wanted(const Rule& rule, const archive::Event& event, base::WallTime now) {
  std::optional<base::WallTime> last;
  if (auto made = queue_.last_made(rule.id, event.camera)) last = *made;
  const auto known = last_made_.find({rule.id, event.camera.text()});
  if (known != last_made_.end() && (!last || *last < known->second)) last = known->second;
  const Verdict verdict = notices::judge(rule, event, now, local_moment(now), last, snoozed_until_);
  RuleState& state = rule_states_[rule.id];
  if (verdict == Verdict::send) {
    state.last_sent = {now, event.camera, event.id, verdict};
  } else if (verdict != Verdict::camera) {
    state.last_silent = {now, event.camera, event.id, verdict};
  }
  return verdict == Verdict::send;
}

std::vector<Queued> Judging::judge(const Told& told) {
  std::vector<Queued> made;
  const base::WallTime now = clock_.wall();
  for (const Rule& rule : rules_) {
    const Key key{rule.id, told.event.id};
    const auto noticed = noticed_.find(key);
    if (noticed == noticed_.end()) {
      if (!is_wanted(rule, told.event, now)) continue;
      remember(key);
      last_made_[{rule.id, told.event.camera.text()}] = now;
      add_for(rule, told, What::begun, now, made);
    } else if (!told.event.under_way && !noticed->second) {
      noticed->second = true;
      if (rule.at_end) add_for(rule, told, What::ended, now, made);
    }
  }
  if (told.event.under_way) return made;
  for (Owed& one : owed_) {
    if (one.end.event != told.event.id) continue;
    one.is_over = true;
    one.over = told.event;
  }
  auto ends = owed();
  std::ranges::move(ends, std::back_inserter(made));
  return made;
}

void Judging::add_for(const Rule& rule, const Told& told, What what, base::WallTime now,
                      std::vector<Queued>& made) {
  for (const std::int64_t id : rule.receivers) {
    const Receiver* to = receiver(id);
    // What a broker was told has begun ends there whatever the rules say by then: owed().
    if (to == nullptr || (what == What::ended && shows_state(*to))) continue;
    Queued queued;
    queued.receiver = id;
    queued.rule = rule.id;
    queued.event = told.event.id;
    queued.notice.what = what;
    queued.notice.made = now;
    queued.notice.camera = told.event.camera.text();
    queued.notice.title = told.title;
    queued.notice.event = boost::json::serialize(archive::event_json(told.event));
    queued.notice.motion = told.event.cause == archive::Event::Cause::motion;
    if (told.still) {
      queued.notice.still.assign(reinterpret_cast<const char*>(told.still->bytes.data()),
                                 told.still->bytes.size());
    }
    if (shows_state(*to)) {
      queued.owes_end = true;
      owe({id, told.event.id, queued.notice.camera, told.title, queued.notice.motion}, told.event);
    }
    made.push_back(std::move(queued));
  }
}

bool Judging::is_owed(std::int64_t receiver, std::int64_t event) const {
  return std::ranges::any_of(
      owed_, [&](const Owed& one) { return one.end.receiver == receiver && one.end.event == event; });
}

void Judging::owe(OwedEnd end, const archive::Event& event) {
  if (is_owed(end.receiver, end.event)) return;
  owed_.push_back({std::move(end), std::nullopt, !event.under_way});
  if (!event.under_way) owed_.back().over = event;
}

// What the last run left owed is over: a start ends what a crash left under way.
bool Judging::load_owed() {
  auto stored = queue_.owed_ends();
  if (!stored) {
    base::log_warning("notices", "{}", stored.error().text());
    return false;
  }
  const archive::EventStore events(catalog_);
  for (OwedEnd& end : *stored) {
    if (is_owed(end.receiver, end.event)) continue;  // of this run, and maybe not over
    auto event = events.find(end.event);
    owed_.push_back({std::move(end), std::nullopt, true});
    if (event) owed_.back().over = std::move(*event);
  }
  return true;
}

std::vector<Queued> Judging::owed() {
  if (!is_owed_loaded_) is_owed_loaded_ = load_owed();
  std::vector<Queued> made;
  const base::WallTime now = clock_.wall();
  std::erase_if(owed_, [&](const Owed& one) {
    if (std::ranges::find(receivers_, one.end.receiver, &Receiver::id) == receivers_.end()) return true;
    const Receiver* to = receiver(one.end.receiver);
    if (!one.is_over || to == nullptr) return false;
    Queued queued;
    queued.receiver = one.end.receiver;
    queued.event = one.end.event;
    queued.notice.what = What::ended;
    queued.notice.made = now;
    queued.notice.camera = one.end.camera;
    queued.notice.title = one.end.title;
    queued.notice.event = one.over ? boost::json::serialize(archive::event_json(*one.over)) : "null";
    queued.notice.motion = one.end.motion;
    made.push_back(std::move(queued));
    return true;
  });
  return made;
}

void Judging::remember(const Key& key) {
  noticed_.emplace(key, false);
  noticed_order_.push_back(key);
  if (noticed_order_.size() <= kRemembered) return;
  noticed_.erase(noticed_order_.front());
  noticed_order_.pop_front();
}

}  // namespace rookery::notices
