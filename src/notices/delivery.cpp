#include "notices/delivery.h"

#include <fmt/format.h>

#include "base/log.h"

namespace rookery::notices {
namespace {

// Whoever queues something wakes the delivery; it looks by itself only in case that a wake was missed.
constexpr int kIdle = 30;

}  // namespace

Delivery::Delivery(Receiver receiver, NoticeQueue& queue, const base::Clock& clock, const RetryLimits& retry,
                   std::chrono::milliseconds look_every,
                   std::function<std::unique_ptr<Sender>(const Receiver&)> make, std::uint64_t seed)
    : receiver_(std::move(receiver)),
      queue_(queue),
      clock_(clock),
      retry_(retry),
      look_every_(look_every),
      make_(std::move(make)),
      random_(seed),
      state_{.receiver = receiver_.id},
      thread_([this](const std::stop_token& stop) { run(stop); }) {}

Delivery::~Delivery() = default;

void Delivery::wake() {
  {
    const std::lock_guard lock(mutex_);
    is_woken_ = true;
  }
  woken_.notify_all();
}

ReceiverState Delivery::state() const {
  const std::lock_guard lock(mutex_);
  return state_;
}

void Delivery::run(const std::stop_token& stop) {
  while (!stop.stop_requested()) {
    // What it throws (memory, a dying disk) ends this try, not the station.
    try {
      const std::unique_ptr<Sender> sender = make_(receiver_);
      while (!stop.stop_requested()) {
        const auto idle = step(*sender, stop);
        std::unique_lock lock(mutex_);
        woken_.wait_for(lock, stop, idle, [this] { return is_woken_; });
        is_woken_ = false;
      }
    } catch (const std::exception& failure) {
      base::log_error("notices", "to \"{}\": {}", receiver_.name, failure.what());
      std::unique_lock lock(mutex_);
      woken_.wait_for(lock, stop, look_every_, [] { return false; });
    }
  }
}

// A try further off than any wait is can only have been set before the clock was set back.
bool Delivery::is_due(const Queued& queued, base::WallTime now) const {
  return queued.next <= now || queued.next - now > 2 * retry_.most;
}

std::chrono::milliseconds Delivery::step(Sender& sender, const std::stop_token& stop) {
  const auto head = queue_.head(receiver_.id);
  if (!head) {
    base::log_warning("notices", "to \"{}\": {}", receiver_.name, head.error().text());
    return look_every_;
  }
  if (!*head) return kIdle * look_every_;
  const Queued& queued = **head;
  const base::WallTime now = clock_.wall();
  if (queued.tries > 0 && is_too_old(queued.notice.made, now, retry_)) {
    base::log_warning("notices", "to \"{}\": notice {} is given up after {} tries: {}", receiver_.name,
                      queued.notice.id, queued.tries, queued.answer);
    note(queue_.give_up(queued.notice.id, queued.answer, now), queued);
    return std::chrono::milliseconds{0};
  }
  if (!is_due(queued, now)) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(queued.next - now);
    return std::min(left + std::chrono::milliseconds{1}, look_every_);
  }
  auto sent = sender.send(queued.notice, stop);
  if (sent) {
    note(queue_.note_delivered(queued.notice.id, *sent, clock_.wall()), queued);
    const std::lock_guard lock(mutex_);
    if (state_.failing_since) base::log_info("notices", "to \"{}\": works again", receiver_.name);
    state_.failing_since.reset();
    state_.last_error.clear();
    state_.last_delivered = clock_.wall();
    return std::chrono::milliseconds{0};
  }
  if (sent.error().code != base::ErrorCode::cancelled) note_failure(queued, sent.error());
  return look_every_;
}

void Delivery::note_failure(const Queued& queued, const base::Error& error) {
  const base::WallTime now = clock_.wall();
  const double share = std::uniform_real_distribution<double>(0, 1)(random_);
  note(queue_.note_failed(queued.notice.id, error.text(), now + wait_after(queued.tries + 1, share, retry_)),
       queued);
  const std::lock_guard lock(mutex_);
  if (!state_.failing_since) {
    state_.failing_since = now;
    base::log_warning("notices", "to \"{}\": {}", receiver_.name, error.text());
  }
  state_.last_error = error.text();
}

// What became of a notice could not be stored: it will be tried once more, and may then arrive twice.
void Delivery::note(const base::Result<void>& stored, const Queued& queued) {
  if (!stored)
    base::log_warning("notices", "to \"{}\": notice {}: {}", receiver_.name, queued.notice.id,
                      stored.error().text());
}

}  // namespace rookery::notices
