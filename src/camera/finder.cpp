#include "camera/finder.h"

#include <algorithm>
#include <map>
#include <mutex>
#include <set>

#include <boost/asio.hpp>

#include "base/log.h"
#include "net/resolve.h"
#include "net/supervise.h"

namespace rookery::camera {
namespace asio = boost::asio;
using Clock = std::chrono::steady_clock;

namespace {

constexpr std::chrono::milliseconds kTick{100};
// How long a hardware address is waited for after the nudge, so that a known board is not asked: an ARP
// answer takes as long as a ping, with radio sleep up to 1037 ms (measured on boards), mostly below 100.
constexpr std::chrono::milliseconds kHardwareWait{600};
constexpr std::chrono::seconds kAskAgain{30};  // who was silent or busy
constexpr std::chrono::milliseconds kLookUp{1000};

}  // namespace

struct Finder::Impl : std::enable_shared_from_this<Impl> {
  using Place = std::pair<asio::ip::address, std::uint16_t>;
  struct Ask {
    net::Supervised task;
    Clock::time_point ended{};
    bool again = false;  // worth it after kAskAgain
  };

  Impl(const asio::any_io_executor& executor, FinderOptions options_)
      : strand(asio::make_strand(executor)), options(std::move(options_)), timer(strand) {}

  static asio::awaitable<void> run(std::shared_ptr<Impl> self);
  static asio::awaitable<void> ask_one(std::shared_ptr<Impl> self, Place place,
                                       std::vector<AskedPlace> places);
  static asio::awaitable<void> look_up_known(std::shared_ptr<Impl> self);
  static asio::awaitable<void> sweep_all(std::shared_ptr<Impl> self);
  base::Result<void> begin();
  void begin_sweep();
  void end();
  void tick();
  std::vector<KnownBoard> known_now() const;
  void ask_for_hosts(const std::vector<KnownBoard>& known);
  bool kept_still(const KnownBoard& known) const;
  // True when something is still to be asked.
  bool look_after(const std::vector<FoundBoard>& found, const std::vector<KnownBoard>& known,
                  Clock::time_point now);
  bool ask(const FoundBoard& board, Clock::time_point now);
  std::size_t asking() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(asks, [](const auto& entry) { return !entry.second.task.ended(); }));
  }

  const asio::any_io_executor strand;
  const FinderOptions options;
  asio::steady_timer timer;  // strand-bound, as what follows
  std::unique_ptr<net::ServiceBrowser> browser;
  BoardList list;
  std::map<Place, Ask> asks;
  std::map<asio::ip::address, Clock::time_point> nudged;
  std::map<std::string, std::vector<std::string>> looked_up;  // hosts of known cameras
  std::set<std::string> asked_hosts;
  std::set<asio::ip::address> knocked;  // by sweeps that came to their end
  bool known_ready = false;
  net::Supervised looking_up;
  net::Supervised sweeping;

  std::mutex mutex;  // guards the rest
  std::vector<FoundBoard> boards;
  bool settled = false;
  bool sweeps = false;
  std::optional<base::Error> error;
  std::optional<net::Supervised> task;
};

base::Result<void> Finder::Impl::begin() {
  net::ServiceBrowser::Events events;
  events.changed = [this](const net::Service& service) { list.hear(service); };
  events.gone = [this](const net::ServiceKey& key) { list.forget(key); };
  events.host_changed = [this](const std::string& host, std::vector<asio::ip::address> addresses) {
    list.hear_host(host, std::move(addresses));
  };
  auto started = net::ServiceBrowser::start(strand, options.types, std::move(events));
  if (!started) return started.error();
  browser = std::move(*started);
  looking_up = net::supervise(strand, "find", [self = shared_from_this()] { return look_up_known(self); });
  if (options.sweep)
    sweeping = net::supervise(strand, "sweep", [self = shared_from_this()] { return sweep_all(self); });
  return base::ok();
}

void Finder::Impl::begin_sweep() {
  if (!browser || !sweeping.ended()) return;
  sweeping = net::supervise(strand, "sweep", [self = shared_from_this()] { return sweep_all(self); });
}

// On the strand: the library's sockets are closed before the context can go.
void Finder::Impl::end() {
  browser.reset();
  asks.clear();
  looking_up = net::Supervised();
  sweeping = net::Supervised();
}

asio::awaitable<void> Finder::Impl::run(std::shared_ptr<Impl> self) {
  struct End {
    explicit End(Impl* impl_) : impl(impl_) {}
    ~End() { impl->end(); }
    End(const End&) = delete;
    End& operator=(const End&) = delete;
    Impl* impl;
  };
  const End at_the_end(self.get());
  if (const auto begun = self->begin(); !begun) {
    const std::lock_guard lock(self->mutex);
    self->error = begun.error();
    self->settled = true;
    co_return;
  }
  for (;;) {
    self->timer.expires_after(kTick);
    auto waiting = self->timer.async_wait(asio::use_awaitable);
    co_await std::move(waiting);
    self->tick();
  }
}

// Names in the settings of cameras that are no announced ones: another name server may know them.
asio::awaitable<void> Finder::Impl::look_up_known(std::shared_ptr<Impl> self) {
  const auto until = Clock::now() + 2 * kLookUp;
  auto bell = std::make_shared<asio::steady_timer>(self->strand);
  for (const KnownBoard& known : self->options.known()) {
    for (const std::string& host : known.hosts) {
      boost::system::error_code no_literal;
      static_cast<void>(asio::ip::make_address(host, no_literal));
      if (!no_literal || host.ends_with(".local") || self->looked_up.contains(host)) continue;
      if (Clock::now() > until) break;
      auto looking = net::fetch_endpoints(host, 80, kLookUp, bell);
      const auto endpoints = co_await std::move(looking);
      std::vector<std::string>& found = self->looked_up[host];
      if (!endpoints) continue;
      for (const auto& endpoint : *endpoints) found.push_back(endpoint.address().to_string());
    }
  }
  self->known_ready = true;
}

asio::awaitable<void> Finder::Impl::sweep_all(std::shared_ptr<Impl> self) {
  const auto prefixes = net::local_prefixes();
  if (!prefixes) {
    base::log_warning("find", "{}", prefixes.error().text());
    co_return;
  }
  std::set<asio::ip::address> targets;
  net::SweepPlan plan = net::plan_sweep(*prefixes, ports_to_knock(self->options.profiles));
  auto on_open = [self](asio::ip::address_v4 address, std::uint16_t port) {
    self->list.take_swept(address, port);
  };
  targets.insert(plan.targets.begin(), plan.targets.end());
  auto sweeping = net::sweep(std::move(plan), net::SweepPace(), std::move(on_open));
  co_await std::move(sweeping);
  self->knocked = std::move(targets);
}

// Whether the sweep knocked at all addresses of a camera, and none took it.
bool Finder::Impl::kept_still(const KnownBoard& known) const {
  return !known.hosts.empty() && std::ranges::all_of(known.hosts, [this](const std::string& host) {
    boost::system::error_code no_literal;
    const auto address = asio::ip::make_address(host, no_literal);
    return !no_literal && knocked.contains(address) && !list.was_swept(address);
  });
}

std::vector<KnownBoard> Finder::Impl::known_now() const {
  std::vector<KnownBoard> out = options.known();
  for (KnownBoard& known : out) {
    for (std::size_t i = 0, many = known.hosts.size(); i < many; ++i) {
      const auto found = looked_up.find(known.hosts[i]);
      if (found == looked_up.end()) continue;
      known.hosts.insert(known.hosts.end(), found->second.begin(), found->second.end());
    }
    known.is_missing = known.is_missing || kept_still(known);
  }
  return out;
}

// Boards that announce no service cannot be asked for as such, but each by its host name (docs/find.md).
void Finder::Impl::ask_for_hosts(const std::vector<KnownBoard>& known) {
  const auto ask_for = [this](const std::string& host) {
    if (host.ends_with(".local") && asked_hosts.insert(host).second) browser->ask_for_host(host);
  };
  for (const KnownBoard& one : known) {
    std::ranges::for_each(one.hosts, ask_for);
    ask_for(one.evidence.host);
  }
}

void Finder::Impl::tick() {
  if (!list.empty()) {
    if (const auto neighbours = net::read_neighbours()) list.set_neighbours(*neighbours);
  }
  const std::vector<KnownBoard> known = known_now();
  ask_for_hosts(known);
  std::vector<FoundBoard> found = list.boards(known);
  const bool more = look_after(found, known, Clock::now());
  {
    const std::lock_guard lock(mutex);
    boards = std::move(found);
    sweeps = !sweeping.ended();
    settled = !more && asking() == 0 && !sweeps;
  }
  if (options.on_change) options.on_change();
}

bool Finder::Impl::look_after(const std::vector<FoundBoard>& found, const std::vector<KnownBoard>& known,
                              Clock::time_point now) {
  // Where a camera pulls is not asked, not even when another board seems to be there now: it may be pulled.
  std::set<std::string> pulled;
  for (const KnownBoard& one : known) pulled.insert(one.hosts.begin(), one.hosts.end());
  const auto is_pulled = [&pulled](const FoundBoard& board) {
    return pulled.contains(board.host) ||
           std::ranges::any_of(board.addresses, [&pulled](const auto& address) {
             return pulled.contains(address.to_string());
           });
  };
  bool more = false;
  for (const FoundBoard& board : found) {
    if (board.addresses.empty()) continue;
    bool waits = false;
    for (const auto& address : board.addresses) {
      if (board.hardware && board.addresses.size() == 1) break;
      const auto [at, fresh] = nudged.try_emplace(address, now);
      if (fresh) net::nudge(address);
      waits = waits || (!board.hardware && now - at->second < kHardwareWait);
    }
    // One that is only weakly known, and elsewhere: its answers make it likely, or not.
    const bool recognised =
        board.known && (board.known->sureness != Sureness::weak || board.known->at_settings_address);
    if (!options.ask || recognised || is_pulled(board)) continue;
    if (waits || !known_ready) {
      more = true;
      continue;
    }
    more = ask(board, now) || more;
  }
  return more;
}

// True when it waits for its turn.
bool Finder::Impl::ask(const FoundBoard& board, Clock::time_point now) {
  const Place place{board.addresses.front(), board.ports.empty() ? kPortUnlessSaid : board.ports.front()};
  const auto asked = asks.find(place);
  if (asked != asks.end()) {
    const Ask& before = asked->second;
    if (!before.task.ended() || !before.again || now - before.ended < kAskAgain) return false;
  }
  if (asking() >= options.asks_at_once) return true;
  auto places = places_to_ask(options.profiles, place.second, board.txt.find("path").value_or(""));
  Ask& one = asks[place];
  one.task = net::supervise(
      strand, "find", [self = shared_from_this(), place, places] { return ask_one(self, place, places); });
  return false;
}

asio::awaitable<void> Finder::Impl::ask_one(std::shared_ptr<Impl> self, Place place,
                                            std::vector<AskedPlace> places) {
  AskPlan plan(place.first, std::move(places));
  plan.boards = self->options.boards;
  auto asking = ask_board(std::move(plan));
  BoardAnswers answers = co_await std::move(asking);
  if (const auto found = self->asks.find(place); found != self->asks.end()) {
    found->second.ended = Clock::now();
    found->second.again =
        answers.kind == BoardAnswers::Kind::silent || answers.kind == BoardAnswers::Kind::busy;
  }
  self->list.take_answers(place.first, place.second, std::move(answers));
}

Finder::Finder(asio::any_io_executor executor, FinderOptions options)
    : impl_(std::make_shared<Impl>(executor, std::move(options))) {}

Finder::~Finder() {
  const std::lock_guard lock(impl_->mutex);
  // The task owns the Impl; the handle would make a circle of it.
  impl_->task.reset();
}

void Finder::start() {
  const std::lock_guard lock(impl_->mutex);
  if (impl_->task) return;
  impl_->task = net::supervise(impl_->strand, "find", [impl = impl_] { return Impl::run(impl); });
}

bool Finder::stop(std::chrono::milliseconds limit) {
  std::optional<net::Supervised> task;
  {
    const std::lock_guard lock(impl_->mutex);
    task = std::move(impl_->task);
    impl_->task.reset();
  }
  if (!task) return true;
  task->stop();
  return task->wait_for(limit);
}

std::vector<FoundBoard> Finder::boards() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->boards;
}

bool Finder::settled() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->settled;
}

void Finder::sweep() {
  {
    const std::lock_guard lock(impl_->mutex);
    impl_->sweeps = true;
  }
  // What asks before it has begun waits for the first tick.
  asio::post(impl_->strand, [impl = impl_] { impl->begin_sweep(); });
}

bool Finder::sweeping() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->sweeps;
}

std::optional<base::Error> Finder::error() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->error;
}

}  // namespace rookery::camera
