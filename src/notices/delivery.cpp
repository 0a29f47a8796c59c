#include "notices/delivery.h"

#include <fmt/format.h>
#include <boost/json/parse.hpp>

#include "base/log.h"

namespace rookery::notices {
namespace {

// Whoever queues something wakes the delivery; it looks by itself only in case that a wake was missed.
constexpr int kIdle = 30;

}  // namespace

Delivery::Delivery(Receiver receiver, NoticeQueue& queue, const base::Clock& clock, const RetryLimits& retry,
                   std::chrono::milliseconds look_every,
                   std::function<std::unique_ptr<Sender>(const Receiver&)> make,
                   std::function<void(const PauseEnd&)> on_pause_end, std::uint64_t seed)
    : receiver_(std::move(receiver)),
      queue_(queue),
      clock_(clock),
      retry_(retry),
      look_every_(look_every),
      make_(std::move(make)),
      on_pause_end_(std::move(on_pause_end)),
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

// An outcome that could not be stored would be forgotten, and its notice sent again and again.
bool Delivery::is_stored() {
  if (!ending_) return true;
  const auto stored = ending_->state == State::delivered
                          ? queue_.note_delivered(ending_->id, ending_->answer, ending_->at)
                          : queue_.give_up(ending_->id, ending_->answer, ending_->at);
  if (!stored) {
    say_failing(fmt::format("nothing more is sent until it can be stored what became of notice {}: {}",
                            ending_->id, stored.error().text()));
    return false;
  }
  if (ending_->state == State::delivered) note_success(ending_->id, ending_->answer);
  tell_pause_end();
  ending_.reset();
  return true;
}

std::optional<std::int64_t> Delivery::paused_job_of(const Notice& notice) {
  if (notice.what != What::pause) return std::nullopt;
  boost::system::error_code failed;
  const boost::json::value event = boost::json::parse(notice.event, failed);
  const boost::json::value* job =
      !failed && event.is_object() ? event.get_object().if_contains("job") : nullptr;
  return job != nullptr && job->is_int64() ? job->get_int64() : 0;
}

void Delivery::tell_pause_end() {
  if (!ending_->paused_job) return;
  pause_not_before_ = {};
  const bool arrived = ending_->state == State::delivered;
  if (!arrived)
    base::log_warning("notices", "to \"{}\": the wish to pause job {} is given up: {}", receiver_.name,
                      *ending_->paused_job, ending_->answer);
  if (on_pause_end_) on_pause_end_({*ending_->paused_job, arrived, ending_->answer, ending_->at});
}

std::chrono::milliseconds Delivery::step(Sender& sender, const std::stop_token& stop) {
  if (!is_stored()) return look_every_;
  const auto head = queue_.head(receiver_.id);
  if (!head) {
    base::log_warning("notices", "to \"{}\": {}", receiver_.name, head.error().text());
    return look_every_;
  }
  if (!*head) return kIdle * look_every_;
  const Queued& queued = **head;
  const base::WallTime now = clock_.wall();
  const bool is_pause = queued.notice.what == What::pause;
  if (is_pause && now - queued.notice.made > kPauseWithin) {
    std::string why = "too late: it would stop what has come since";
    if (!queued.answer.empty()) why += fmt::format("; tried {} times: {}", queued.tries, queued.answer);
    ending_ = {queued.notice.id, paused_job_of(queued.notice), State::given_up, std::move(why), now};
    return is_stored() ? std::chrono::milliseconds{0} : look_every_;
  }
  // Not before it was tried once: nothing was wrong with the receiver while the station was off.
  if (!is_pause && failures_ > 0 && is_too_old(queued.notice.made, now, retry_) &&
      give_up_old(queued, now) > 0)
    return std::chrono::milliseconds{0};
  const base::MonoTime mono = clock_.mono();
  const base::MonoTime not_before = is_pause ? pause_not_before_ : not_before_;
  if (mono < not_before) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(not_before - mono);
    return std::min(left + std::chrono::milliseconds{1}, look_every_);
  }
  send(queued, sender, stop);
  return is_stored() && failures_ == 0 ? std::chrono::milliseconds{0} : look_every_;
}

void Delivery::send(const Queued& queued, Sender& sender, const std::stop_token& stop) {
  const auto sent = sender.send(queued.notice, stop);
  if (sent) {
    failures_ = 0;
    not_before_ = {};  // a wish to pause may have got through before what waits
    ending_ = {queued.notice.id, paused_job_of(queued.notice), State::delivered, *sent, clock_.wall()};
  } else if (sent.error().code != base::ErrorCode::cancelled) {
    note_failure(queued, sent.error());
  }
}

// All together: each by itself would be tried once more, half an hour apart.
std::size_t Delivery::give_up_old(const Queued& head, base::WallTime now) {
  const auto many = queue_.give_up_all(receiver_.id, now - retry_.give_up_after, head.answer, now);
  if (!many) {
    say_failing(many.error().text());
    return 0;
  }
  if (*many > 0)
    base::log_warning("notices", "to \"{}\": {} notices are given up: {}", receiver_.name, *many,
                      head.answer);
  return *many;
}

void Delivery::note_success(std::int64_t id, const std::string& answer) {
  const std::lock_guard lock(mutex_);
  if (state_.failing_since) {
    base::log_info("notices", "to \"{}\": works again: notice {}: {}", receiver_.name, id, answer);
  }
  state_.failing_since.reset();
  state_.last_error.clear();
  state_.last_delivered = clock_.wall();
}

void Delivery::note_failure(const Queued& queued, const base::Error& error) {
  const base::WallTime now = clock_.wall();
  const double share = std::uniform_real_distribution<double>(0, 1)(random_);
  auto wait = wait_after(++failures_, share, retry_);
  not_before_ = clock_.mono() + wait;
  // By its own tries: it is worth nothing later, whatever the receiver's failures before it were.
  if (queued.notice.what == What::pause) {
    wait = wait_after(queued.tries + 1, share, retry_);
    pause_not_before_ = clock_.mono() + wait;
  }
  say_failing(error.text());
  if (error.code == base::ErrorCode::unsupported) {
    base::log_warning("notices", "to \"{}\": notice {} is given up: {}", receiver_.name, queued.notice.id,
                      error.text());
    ending_ = {queued.notice.id, paused_job_of(queued.notice), State::given_up, error.text(), now};
  } else if (const auto noted = queue_.note_failed(queued.notice.id, error.text(), now + wait); !noted) {
    base::log_warning("notices", "to \"{}\": notice {}: {}", receiver_.name, queued.notice.id,
                      noted.error().text());
  }
}

void Delivery::say_failing(const std::string& text) {
  const std::lock_guard lock(mutex_);
  if (!state_.failing_since) {
    state_.failing_since = clock_.wall();
    base::log_warning("notices", "to \"{}\": {}", receiver_.name, text);
  }
  state_.last_error = text;
}

}  // namespace rookery::notices
