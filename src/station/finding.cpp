#include "station/finding.h"

#include <algorithm>

#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "base/log.h"
#include "camera/board_register.h"
#include "camera/fingerprint.h"
#include "camera/moved_board.h"
#include "net/address.h"
#include "net/claim_listener.h"
#include "station/post_guarded.h"

namespace rookery::station {
namespace {

constexpr std::chrono::hours kMoveIsNews{24};

std::string pulled_host(const camera::Settings& settings) {
  const auto pulled = camera::pulled_address(settings);
  if (!pulled) return {};
  const auto address = net::Address::parse(*pulled);
  return address ? address->host : std::string();
}

template <class T>
void take_if_known(T& old, const T& now) {
  if (now != T{}) old = now;
}

}  // namespace

struct Finding::Seen {
  camera::Settings settings;
  camera::Status status;
  std::string fingerprint;
};

Finding::Finding(boost::asio::io_context& io, archive::Catalog& catalog, archive::CameraStore& cameras,
                 CameraSet& running, boost::asio::thread_pool& workers, const base::Clock& clock,
                 std::filesystem::path home, FindingOptions options)
    : io_(io),
      cameras_(cameras),
      running_(running),
      workers_(workers),
      clock_(clock),
      home_(std::move(home)),
      options_(options),
      boards_(catalog) {}

Finding::~Finding() { stop(); }

std::vector<Finding::Seen> Finding::seen() const {
  std::vector<Seen> out;
  for (const auto& [name, entry] : running_.all())
    out.push_back(Seen{running_.settings_of(*entry), entry->pull.status(), entry->pull.fingerprint()});
  return out;
}

void Finding::refresh_known() {
  std::vector<camera::Settings> settings;
  const std::vector<Seen> cameras = seen();
  for (const Seen& one : cameras) settings.push_back(one.settings);
  auto known = boards_.known(settings);
  if (!known) return base::log_warning("find", "{}", known.error().text());
  for (camera::KnownBoard& board : *known) {
    const auto camera =
        std::ranges::find(cameras, board.camera, [](const Seen& one) { return one.settings.name; });
    board.is_missing = camera != cameras.end() && is_missing(*camera);
  }
  const std::lock_guard lock(known_->mutex);
  known_->boards = std::move(*known);
}

void Finding::start_finder(const std::lock_guard<std::mutex>&) {
  if (stopped_ || (finder_ && !finder_->error())) return;
  camera::FinderOptions options;
  options.known = [known = known_] {
    const std::lock_guard lock(known->mutex);
    return known->boards;
  };
  options.boards = running_.boards();
  options.profiles = camera::read_profiles(
      home_, [](const base::Error& bad) { base::log_warning("find", "left out: {}", bad.text()); });
  knocked_ = camera::ports_to_knock(options.profiles);
  finder_ = std::make_unique<camera::Finder>(io_.get_executor(), std::move(options));
  finder_->start();
}

FoundView Finding::view() {
  refresh_known();
  FoundView out;
  const auto prefixes = net::local_prefixes();
  const std::lock_guard lock(mutex_);
  asked_ = clock_.mono();
  // One that failed is told, and tried anew by the next who asks.
  const auto failed = finder_ ? finder_->error() : std::nullopt;
  start_finder(lock);
  if (!finder_) return out;
  if (prefixes) out.sweep_text = net::plan_sweep(*prefixes, knocked_).text();
  out.boards = finder_->boards();
  out.settled = finder_->settled();
  out.sweeping = finder_->sweeping();
  out.error = failed;
  return out;
}

void Finding::sweep() {
  refresh_known();
  const std::lock_guard lock(mutex_);
  asked_ = clock_.mono();
  start_finder(lock);
  if (finder_) finder_->sweep();
}

boost::asio::awaitable<void> Finding::run() {
  boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
  for (;;) {
    timer.expires_after(options_.look);
    auto waiting = timer.async_wait(boost::asio::use_awaitable);
    co_await std::move(waiting);
    if (looking_.exchange(true)) continue;  // the last look is not done: the disk is slow
    post_guarded(workers_, "find", [this] {
      const Busy until_done(looking_);
      look();
    });
  }
}

boost::asio::awaitable<void> Finding::listen() {
  net::OnClaim heard = [this](const std::vector<std::string>& names, const boost::asio::ip::address& from) {
    hear_claim(names, from);
  };
  post_guarded(workers_, "find", [this] { refresh_known(); });
  auto listening = net::hear_claims(net::ClaimPlace(), std::move(heard));
  co_await std::move(listening);
}

void Finding::hear_claim(const std::vector<std::string>& names, const boost::asio::ip::address& from) {
  const std::string address = from.to_string();
  const std::lock_guard lock(known_->mutex);
  for (const camera::KnownBoard& board : known_->boards) {
    const auto is_its = [&board](const std::string& name) {
      return name == board.evidence.host || std::ranges::find(board.hosts, name) != board.hosts.end();
    };
    if (!is_its(address) && std::ranges::none_of(names, is_its)) continue;
    base::log_debug(board.camera.text(), "its board announces itself from {}: {}", address,
                    fmt::join(names, ", "));
    running_.gaps()->announced(board.camera.text(), clock_.mono());
  }
}

std::vector<camera::FoundBoard> Finding::found_now() const {
  const std::lock_guard lock(mutex_);
  return finder_ ? finder_->boards() : std::vector<camera::FoundBoard>();
}

void Finding::look() {
  const std::vector<camera::FoundBoard> found = found_now();
  const std::vector<Seen> cameras = seen();
  learn(cameras, found);
  refresh_known();
  const bool searched = follow(cameras, found);
  std::unique_ptr<camera::Finder> done;
  {
    const std::lock_guard lock(mutex_);
    if (searched) start_finder(lock);
    const bool warm = asked_ != base::MonoTime{} && clock_.mono() - asked_ < options_.warm;
    if (!searched && !warm) done = std::move(finder_);
  }
  if (done) done->stop(std::chrono::seconds(5));
}

// What is known of the boards that pictures come from right now.
void Finding::learn(const std::vector<Seen>& cameras, const std::vector<camera::FoundBoard>& found) {
  const auto stored = boards_.list();
  const auto neighbours = net::read_neighbours();
  if (!stored || !neighbours) return;
  for (const Seen& camera : cameras) {
    if (camera.status.state != camera::State::live) continue;
    const std::string host = pulled_host(camera.settings);
    if (host.empty()) continue;
    const auto before = std::ranges::find(*stored, camera.settings.name, &archive::StoredBoard::camera);
    archive::StoredBoard now(camera.settings.name);
    if (before != stored->end()) now = *before;
    if (now.host != host) now.evidence = {};  // another board, as far as one can tell
    now.host = host;
    now.evidence.fingerprint = camera::with_fingerprint(now.evidence.fingerprint, camera.fingerprint);
    for (const net::Neighbour& one : *neighbours) {
      if (one.address.to_string() == host) now.evidence.hardware = one.hardware;
    }
    for (const camera::FoundBoard& board : found) {
      if (!board.known || board.known->camera != camera.settings.name || !board.known->at_settings_address)
        continue;
      const camera::BoardEvidence evidence = board.evidence();
      take_if_known(now.evidence.hardware, evidence.hardware);
      take_if_known(now.evidence.announced, evidence.announced);
      take_if_known(now.evidence.host, evidence.host);
      now.evidence.fingerprint = camera::with_fingerprint(now.evidence.fingerprint, evidence.fingerprint);
    }
    if (now.evidence == camera::BoardEvidence{}) continue;
    if (before != stored->end() && now == *before) continue;
    now.seen = clock_.wall();
    if (const auto put = boards_.put(now); !put) base::log_debug("find", "{}", put.error().text());
  }
}

// It should give pictures, and gives none for some time.
bool Finding::is_missing(const Seen& camera) const {
  const camera::State state = camera.status.state;
  if (!camera.settings.enabled || state == camera::State::live || state == camera::State::off) return false;
  const base::WallTime last = camera.status.last_frame_at.value_or(base::WallTime{});
  return clock_.wall() - last >= options_.follow_after;
}

// True while a camera without pictures makes the search go on.
bool Finding::follow(const std::vector<Seen>& cameras, const std::vector<camera::FoundBoard>& found) {
  bool searched = false;
  for (const Seen& camera : cameras) {
    const auto host = camera::literal_host(camera.settings);
    if (!host || !is_missing(camera)) continue;
    // Of a board that nothing is known of, nothing can be recognised.
    const auto known = [&] {
      const std::lock_guard lock(known_->mutex);
      const auto one = std::ranges::find(known_->boards, camera.settings.name, &camera::KnownBoard::camera);
      return one != known_->boards.end() && one->evidence != camera::BoardEvidence{};
    }();
    if (!known) continue;
    searched = true;
    const auto to = camera::new_host(camera.settings, found);
    if (to) move(camera, *host, *to);
  }
  return searched;
}

void Finding::move(const Seen& camera, const std::string& from, const std::string& to) {
  const std::string& name = camera.settings.name.text();
  const auto changed =
      cameras_.change(camera.settings.name, [&](camera::Settings& settings) -> base::Result<void> {
        if (camera::literal_host(settings) != from)
          return base::Error(base::ErrorCode::cancelled, name, "its address was changed meanwhile", {});
        camera::move_addresses(settings, from, to);
        return base::ok();
      });
  if (!changed) {
    return base::log_warning(name, "its board is at {} now, but the camera stays at {}: {}", to, from,
                             changed.error().text());
  }
  base::log_warning(name, "{} moved from {} to {}; it is followed", name, from, to);
  if (const auto stored = boards_.list()) {
    const auto before = std::ranges::find(*stored, camera.settings.name, &archive::StoredBoard::camera);
    archive::StoredBoard now(camera.settings.name);
    if (before != stored->end()) now = *before;
    now.host = to;
    now.moved = archive::BoardMove{from, to, clock_.wall()};
    if (const auto put = boards_.put(now); !put) base::log_warning("find", "{}", put.error().text());
  }
  if (const auto applied = running_.apply(); !applied)
    base::log_warning("find", "{}", applied.error().text());
}

std::vector<CameraMove> Finding::recent_moves() const {
  std::vector<CameraMove> out;
  const auto stored = boards_.list();
  if (!stored) return out;
  for (const archive::StoredBoard& board : *stored) {
    if (board.moved && clock_.wall() - board.moved->at < kMoveIsNews)
      out.push_back({board.camera, *board.moved});
  }
  return out;
}

void Finding::stop() {
  std::unique_ptr<camera::Finder> finder;
  {
    const std::lock_guard lock(mutex_);
    stopped_ = true;
    finder = std::move(finder_);
  }
  if (finder) finder->stop(std::chrono::seconds(5));
}

}  // namespace rookery::station
