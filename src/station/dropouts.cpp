#include "station/dropouts.h"

#include <algorithm>

#include "base/log.h"
#include "station/post_guarded.h"

namespace rookery::station {
namespace {

constexpr std::chrono::days kTogether{7};  // as cause_history.cpp

}  // namespace

void Dropouts::recall(const base::CameraName& camera, base::WallTime now) {
  auto past = store_.past(camera, now);
  if (!past) return base::log_warning(camera.text(), "{}", past.error().text());
  const std::lock_guard lock(mutex_);
  cameras_[camera].past = std::move(*past);
}

void Dropouts::tell(const base::CameraName& name, camera::DropoutSeen seen) {
  const std::lock_guard lock(mutex_);
  if (closed_) return;
  post_guarded(workers_, "dropouts", [self = shared_from_this(), name, seen = std::move(seen)]() mutable {
    camera::read_brightness(seen);
    self->rank(name, seen);
  });
}

void Dropouts::rank(const base::CameraName& name, const camera::DropoutSeen& seen) {
  const std::lock_guard lock(mutex_);
  if (closed_) return;
  camera::Evidence evidence = camera::read_evidence(seen);
  evidence.disk_full = disk_full_ && disk_full_();
  Camera& camera = cameras_[name];
  // The pool has two threads: the last word may have overtaken the first.
  const bool told_before =
      std::ranges::find(camera.past, seen.began_wall, &camera::PastDropout::began) != camera.past.end();
  if (told_before && !evidence.over) return;
  archive::Dropout told(name);
  told.began = seen.began_wall;
  if (seen.back)
    told.back = seen.began_wall + std::chrono::duration_cast<base::Microseconds>(*seen.back - seen.began);
  // The first word on it, if there was one.
  std::erase_if(camera.past, [&](const camera::PastDropout& one) { return one.began == told.began; });
  std::erase_if(camera.told, [&](const Told& one) { return one.dropout.began == told.began; });
  told.ranking = camera::rank_causes(evidence, told.began, camera.past);
  told.streamed_for_s = evidence.streamed_for_s;
  told.uptime_before_s = evidence.uptime_before_s;
  told.booted_after_s = evidence.booted_after_s;
  camera.past.insert(camera.past.begin(), camera::to_past(told.began, evidence, told.ranking));
  if (camera.past.size() > kRemembered) camera.past.pop_back();
  base::log_info(name.text(), "dropout of {:.1f} s{}: {}", evidence.gap_s, evidence.over ? "" : " so far",
                 told.ranking.verdict);
  store_.put_later(told);
  if (evidence.over) tell_anew(camera, told.began);
  camera.told.push_front({told, evidence, told.ranking.verdict});
  if (camera.told.size() > kToldAnew) camera.told.pop_back();
}

void Dropouts::tell_anew(Camera& camera, base::WallTime now) {
  for (Told& one : camera.told) {
    if (now - one.dropout.began > kTogether) continue;
    ++one.later;
    camera::Ranking ranking = camera::rank_causes(one.evidence, one.dropout.began, camera.past);
    if (ranking.named == one.dropout.ranking.named) continue;
    ranking.evidence.push_back(fmt::format("Ranked anew after {} more dropout{}; at first it read: {}",
                                           one.later, one.later == 1 ? "" : "s", one.first_verdict));
    one.dropout.ranking = std::move(ranking);
    base::log_info(one.dropout.camera.text(), "dropout of {} ranked anew: {}",
                   base::to_rfc3339(one.dropout.began), one.dropout.ranking.verdict);
    store_.put_later(one.dropout);
  }
}

void Dropouts::forget(const base::CameraName& camera) {
  const std::lock_guard lock(mutex_);
  cameras_.erase(camera);
}

void Dropouts::close() {
  const std::lock_guard lock(mutex_);
  closed_ = true;
}

}  // namespace rookery::station
