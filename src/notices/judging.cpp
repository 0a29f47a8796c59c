#include "notices/judging.h"

#include <algorithm>
#include <boost/json/serialize.hpp>

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

bool Judging::is_wanted(const Rule& rule, const archive::Event& event, base::WallTime now) const {
  std::optional<base::WallTime> last;
  if (auto made = queue_.last_made(rule.id, event.camera)) last = *made;
  return notices::judge(rule, event, now, local_moment(now), last, snoozed_until_) == Verdict::send;
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
      add_for(rule, told, What::begun, now, made);
    } else if (!told.event.under_way && !noticed->second) {
      noticed->second = true;
      add_for(rule, told, What::ended, now, made);
    }
  }
  return made;
}

void Judging::add_for(const Rule& rule, const Told& told, What what, base::WallTime now,
                      std::vector<Queued>& made) const {
  for (const std::int64_t id : rule.receivers) {
    const Receiver* to = receiver(id);
    if (to == nullptr) continue;
    // What a broker was told has begun must end there.
    if (what == What::ended && !rule.at_end && !std::holds_alternative<Mqtt>(to->way)) continue;
    Queued queued;
    queued.receiver = id;
    queued.rule = rule.id;
    queued.event = told.event.id;
    queued.notice.what = what;
    queued.notice.made = now;
    queued.notice.camera = told.event.camera.text();
    queued.notice.title = told.title;
    queued.notice.event = boost::json::serialize(archive::event_json(told.event));
    if (told.still) {
      queued.notice.still.assign(reinterpret_cast<const char*>(told.still->bytes.data()),
                                 told.still->bytes.size());
    }
    made.push_back(std::move(queued));
  }
}

void Judging::remember(const Key& key) {
  noticed_.emplace(key, false);
  noticed_order_.push_back(key);
  if (noticed_order_.size() <= kRemembered) return;
  noticed_.erase(noticed_order_.front());
  noticed_order_.pop_front();
}

}  // namespace rookery::notices
