#include "notices/desk.h"

#include <condition_variable>
#include <deque>
#include <iterator>
#include <map>
#include <mutex>
#include <random>
#include <thread>

#include <boost/json/serialize.hpp>

#include "archive/event_json.h"
#include "base/log.h"
#include "notices/delivery.h"
#include "notices/judging.h"

namespace rookery::notices {

struct Desk::Impl {
  archive::Catalog& catalog;
  const base::Clock& clock;
  Options options;
  NoticeQueue queue;
  Judging judging;              // the clerk's, as are the next two
  std::vector<Queued> unsaved;  // made, but the disk did not take them yet
  bool cannot_save = false;
  std::mt19937_64 seeds;

  mutable std::mutex mutex;
  std::condition_variable_any changed;
  std::deque<Told> told;
  std::uint64_t lost = 0;
  std::map<std::int64_t, RuleState> rule_states;
  std::map<std::int64_t, std::unique_ptr<Delivery>> deliveries;
  std::jthread clerk;  // makes notices, and minds who delivers

  Impl(archive::Catalog& catalog_, const base::Clock& clock_, Options options_)
      : catalog(catalog_),
        clock(clock_),
        options(std::move(options_)),
        queue(catalog, options.queue),
        judging(catalog, queue, clock),
        seeds(options.seed != 0 ? options.seed : std::random_device{}()) {
    if (!options.make) {
      options.make = [this](const Receiver& receiver) {
        return make_sender(receiver, options.sender, clock);
      };
    }
  }

  void run(const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      try {
        if (judging.bring_up_to_date()) mind_deliveries();
        take_up(judging.owed());
        save();
        while (auto next = take()) judge(*next);
      } catch (const std::exception& failure) {
        base::log_error("notices", "{}", failure.what());
      }
      std::unique_lock lock(mutex);
      changed.wait_for(lock, stop, options.look_every, [this] { return !told.empty(); });
    }
    // What was told is stored, and delivered by the next start.
    while (auto next = take()) judge(*next);
    if (!unsaved.empty())
      base::log_error("notices", "{} could not be stored before the end, and are lost", unsaved.size());
  }

  std::optional<Told> take() {
    const std::lock_guard lock(mutex);
    if (told.empty()) return std::nullopt;
    Told next = std::move(told.front());
    told.pop_front();
    return next;
  }

  void judge(const Told& next) {
    take_up(judging.judge(next));
    save();
    const std::lock_guard lock(mutex);
    rule_states = judging.rule_states();
  }

  void take_up(std::vector<Queued> made) {
    unsaved.insert(unsaved.end(), std::make_move_iterator(made.begin()), std::make_move_iterator(made.end()));
    if (unsaved.size() > kMostUnsaved) {
      const std::size_t many = unsaved.size() - kMostUnsaved;
      unsaved.erase(unsaved.begin(), unsaved.begin() + static_cast<std::ptrdiff_t>(many));
      const std::lock_guard lock(mutex);
      lost += many;
    }
  }

  // What cannot be stored, as on a full disk, is tried again.
  void save() {
    if (unsaved.empty()) return;
    if (const auto added = queue.add(unsaved); !added) {
      if (!std::exchange(cannot_save, true))
        base::log_error("notices", "they cannot be stored, and wait in memory: {}", added.error().text());
      return;
    }
    if (std::exchange(cannot_save, false)) base::log_info("notices", "they can be stored again");
    const std::lock_guard lock(mutex);
    for (const Queued& one : unsaved) wake(one.receiver);
    unsaved.clear();
  }

  void wake(std::int64_t receiver) {
    const auto found = deliveries.find(receiver);
    if (found != deliveries.end()) found->second->wake();
  }

  // Those that are no more, or are others now, end; all are asked before the first is waited for.
  void mind_deliveries() {
    std::map<std::int64_t, std::unique_ptr<Delivery>> ending;
    {
      const std::lock_guard lock(mutex);
      for (auto it = deliveries.begin(); it != deliveries.end();) {
        const auto wanted = std::ranges::find(judging.receivers(), it->first, &Receiver::id);
        if (wanted != judging.receivers().end() && wanted->enabled && *wanted == it->second->receiver()) {
          ++it;
          continue;
        }
        it->second->ask_to_stop();
        ending.insert(deliveries.extract(it++));
      }
    }
    ending.clear();
    for (const Receiver& receiver : judging.receivers()) {
      const std::lock_guard lock(mutex);
      if (!receiver.enabled || deliveries.contains(receiver.id)) continue;
      deliveries.emplace(receiver.id,
                         std::make_unique<Delivery>(receiver, queue, clock, options.retry, options.look_every,
                                                    options.make, options.on_pause_end, seeds()));
    }
  }

  void stop() {
    clerk.request_stop();
    if (clerk.joinable()) clerk.join();
    std::map<std::int64_t, std::unique_ptr<Delivery>> ending;
    {
      const std::lock_guard lock(mutex);
      ending.swap(deliveries);
    }
    for (const auto& [id, delivery] : ending) delivery->ask_to_stop();
  }
};

Desk::Desk(archive::Catalog& catalog, const base::Clock& clock, Options options)
    : impl_(std::make_unique<Impl>(catalog, clock, std::move(options))) {}

Desk::~Desk() { stop(); }

void Desk::set_own(std::vector<OwnEndpoint> own) { impl_->options.sender.own = std::move(own); }

void Desk::start() {
  if (impl_->clerk.joinable()) return;
  impl_->clerk = std::jthread([impl = impl_.get()](const std::stop_token& stop) { impl->run(stop); });
}

void Desk::stop() { impl_->stop(); }

void Desk::tell(const archive::Event& event, const std::string& title, camera::FramePtr still) {
  {
    const std::lock_guard lock(impl_->mutex);
    if (impl_->told.size() >= kMostTold) {
      ++impl_->lost;
      return;
    }
    impl_->told.push_back({event, title, std::move(still)});
  }
  impl_->changed.notify_all();
}

base::Result<void> Desk::test(std::int64_t receiver) {
  if (auto found = NoticeStore(impl_->catalog).receiver(receiver); !found) return std::move(found).error();
  Queued queued;
  queued.receiver = receiver;
  queued.notice.what = What::test;
  queued.notice.made = impl_->clock.wall();
  queued.notice.event = "null";
  if (auto added = impl_->queue.add({queued}); !added) return added;
  const std::lock_guard lock(impl_->mutex);
  impl_->wake(receiver);
  return base::ok();
}

base::Result<void> Desk::ask_pause(std::int64_t receiver, const archive::Event& event,
                                   const std::string& title, camera::FramePtr still) {
  const auto found = NoticeStore(impl_->catalog).receiver(receiver);
  if (!found) return found.error();
  if (!found->enabled)
    return base::Error(base::ErrorCode::refused, "receiver",
                       fmt::format("\"{}\" is switched off", found->name),
                       "Switch it on, or name another in the camera's job settings.");
  Queued queued;
  queued.receiver = receiver;
  queued.event = event.id;
  queued.notice.what = What::pause;
  queued.notice.made = impl_->clock.wall();
  queued.notice.camera = event.camera.text();
  queued.notice.title = title;
  queued.notice.event = boost::json::serialize(archive::event_json(event));
  if (still)
    queued.notice.still.assign(reinterpret_cast<const char*>(still->bytes.data()), still->bytes.size());
  if (auto added = impl_->queue.add({std::move(queued)}); !added) return added;
  const std::lock_guard lock(impl_->mutex);
  impl_->wake(receiver);
  return base::ok();
}

std::vector<ReceiverState> Desk::states() const {
  std::vector<ReceiverState> states;
  const std::lock_guard lock(impl_->mutex);
  for (const auto& [id, delivery] : impl_->deliveries) states.push_back(delivery->state());
  return states;
}

std::map<std::int64_t, RuleState> Desk::rule_states() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->rule_states;
}

std::uint64_t Desk::lost() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->lost;
}

}  // namespace rookery::notices
