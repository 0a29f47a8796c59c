#include "station/dropouts.h"

#include <algorithm>

#include "base/log.h"
#include "station/post_guarded.h"

namespace rookery::station {

void Dropouts::recall(const base::CameraName& camera, base::WallTime now) {
  auto past = store_.past(camera, now);
  if (!past) return base::log_warning(camera.text(), "{}", past.error().text());
  const std::lock_guard lock(mutex_);
  past_[camera] = std::move(*past);
}

void Dropouts::tell(const base::CameraName& camera, camera::DropoutSeen seen) {
  const std::lock_guard lock(mutex_);
  if (closed_) return;
  post_guarded(workers_, "dropouts", [self = shared_from_this(), camera, seen = std::move(seen)]() mutable {
    camera::read_brightness(seen);
    self->rank(camera, seen);
  });
}

void Dropouts::rank(const base::CameraName& camera, const camera::DropoutSeen& seen) {
  const std::lock_guard lock(mutex_);
  if (closed_) return;
  camera::Evidence evidence = camera::read_evidence(seen);
  evidence.disk_full = disk_full_ && disk_full_();
  auto& past = past_[camera];
  // The pool has two threads: the last word may have overtaken the first.
  const bool told_before = std::any_of(
      past.begin(), past.end(), [&](const camera::PastDropout& one) { return one.began == seen.began_wall; });
  if (told_before && !evidence.over) return;
  archive::Dropout told(camera);
  told.began = seen.began_wall;
  if (seen.back)
    told.back = seen.began_wall + std::chrono::duration_cast<base::Microseconds>(*seen.back - seen.began);
  std::erase_if(past, [&](const camera::PastDropout& one) { return one.began == told.began; });
  told.ranking = camera::rank_causes(evidence, told.began, past);
  told.streamed_for_s = evidence.streamed_for_s;
  told.uptime_before_s = evidence.uptime_before_s;
  told.booted_after_s = evidence.booted_after_s;
  past.insert(past.begin(), {told.began, told.ranking.restarted, told.streamed_for_s, told.uptime_before_s,
                             told.booted_after_s, told.ranking.named});
  if (past.size() > kRemembered) past.pop_back();
  base::log_info(camera.text(), "dropout of {:.1f} s{}: {}", evidence.gap_s, evidence.over ? "" : " so far",
                 told.ranking.verdict);
  store_.put_later(told);
}

void Dropouts::forget(const base::CameraName& camera) {
  const std::lock_guard lock(mutex_);
  past_.erase(camera);
}

void Dropouts::close() {
  const std::lock_guard lock(mutex_);
  closed_ = true;
}

}  // namespace rookery::station
