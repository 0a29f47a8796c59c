#include "station/vitals_taking.h"

#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "base/log.h"
#include "station/post_guarded.h"

namespace rookery::station {

VitalsTaking::VitalsTaking(const CameraSet& cameras, archive::VitalsStore& store,
                           boost::asio::thread_pool& reading, const base::Clock& clock,
                           std::chrono::milliseconds every)
    : cameras_(cameras), store_(store), reading_(reading), clock_(clock), every_(every) {}

boost::asio::awaitable<void> VitalsTaking::run() {
  boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
  auto last = clock_.mono();
  for (;;) {
    timer.expires_after(every_);
    auto waiting = timer.async_wait(boost::asio::use_awaitable);
    co_await std::move(waiting);
    const auto now = clock_.mono();
    read(now - last);
    last = now;
  }
}

void VitalsTaking::read(std::chrono::nanoseconds since) {
  const auto wall = clock_.wall();
  const auto mono = clock_.mono();
  std::vector<std::pair<base::CameraName, camera::VitalsBook::Minute>> minutes;
  for (const auto& [name, entry] : cameras_.all()) {
    const camera::Status status = entry->pull.status();
    const camera::VitalsBook::Reading reading{.state = status.state,
                                              .counters = status.counters,
                                              .arrivals = entry->pull.take_arrivals(),
                                              .light = entry->watch.light(mono)};
    if (auto minute = entry->vitals.read(reading, wall, since)) minutes.emplace_back(name, *minute);
  }
  store(std::move(minutes));
  pack_on_a_new_day();
}

// All cameras end the same minute, but for one that was switched on in between.
void VitalsTaking::store(std::vector<std::pair<base::CameraName, camera::VitalsBook::Minute>> minutes) {
  std::map<base::WallTime, archive::VitalsStore::Minutes> by_time;
  for (auto& [name, minute] : minutes) by_time[minute.at].emplace_back(name, minute.vitals);
  for (auto& [at, of_cameras] : by_time) store_.put_later(at, std::move(of_cameras));
}

void VitalsTaking::pack_on_a_new_day() {
  const auto now = clock_.wall();
  const auto today = std::chrono::floor<std::chrono::days>(now);
  // A minute later than the day begins, so that its last minute is among them.
  if (packed_ == today || now < today + 2 * camera::kVitalsStep) return;
  if (packing_.exchange(true)) return;
  packed_ = today;
  post_guarded(reading_, "vitals", [this, now] {
    const Busy until_done(packing_);
    if (const auto packed = store_.pack(now); !packed)
      base::log_warning("vitals", "{}", packed.error().text());
  });
}

}  // namespace rookery::station
