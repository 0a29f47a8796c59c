#include "net/sweep.h"

#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include <algorithm>
#include <bit>
#include <cerrno>
#include <cstring>
#include <deque>
#include <memory>
#include <set>
#include <span>

#include <fmt/format.h>
#include <boost/asio.hpp>

#include "net/supervise.h"
#include "net/wire.h"

namespace rookery::net {
namespace asio = boost::asio;

namespace {

std::uint32_t mask_of(int length) {
  return length <= 0 ? 0 : ~std::uint32_t{0} << (32 - std::min(length, 32));
}

asio::ip::address_v4 in(const sockaddr* address) {
  sockaddr_in four{};
  std::memcpy(&four, address, sizeof(four));
  return asio::ip::address_v4(ntohl(four.sin_addr.s_addr));
}

// One target. The coroutine owns what it uses.
struct Knock {
  Knock(asio::ip::address_v4 address_, SweepPace pace_, std::vector<std::uint16_t> ports_,
        std::shared_ptr<std::function<void(asio::ip::address_v4, std::uint16_t)>> on_open_)
      : address(address_), pace(pace_), ports(std::move(ports_)), on_open(std::move(on_open_)) {}
  asio::ip::address_v4 address;
  SweepPace pace;
  std::vector<std::uint16_t> ports;
  std::shared_ptr<std::function<void(asio::ip::address_v4, std::uint16_t)>> on_open;
};

asio::awaitable<void> knock(std::shared_ptr<Knock> at) {
  const asio::any_io_executor strand = co_await asio::this_coro::executor;
  for (const std::uint16_t port : at->ports) {
    Wire wire(strand);
    std::vector<asio::ip::tcp::endpoint> endpoints{asio::ip::tcp::endpoint(at->address, port)};
    auto connecting = wire.connect(std::move(endpoints), at->pace.limit);
    const base::Result<void> connected = co_await std::move(connecting);
    wire.close();
    if (connected) {
      (*at->on_open)(at->address, port);
      co_return;
    }
    if (connected.error().code != base::ErrorCode::refused) co_return;  // nobody is there
  }
}

}  // namespace

std::string LocalPrefix::text() const {
  return fmt::format("{}/{}", asio::ip::address_v4(own.to_uint() & mask_of(length)).to_string(), length);
}

base::Result<std::vector<LocalPrefix>> local_prefixes() {
  ifaddrs* list = nullptr;
  if (::getifaddrs(&list) != 0)
    return base::Error(base::ErrorCode::io, "own networks", std::strerror(errno), "See `ip address`.");
  const std::unique_ptr<ifaddrs, void (*)(ifaddrs*)> owned(list, ::freeifaddrs);
  std::vector<LocalPrefix> out;
  for (const ifaddrs* one = list; one != nullptr; one = one->ifa_next) {
    const bool wanted =
        (one->ifa_flags & IFF_UP) != 0 && (one->ifa_flags & (IFF_LOOPBACK | IFF_POINTOPOINT)) == 0;
    if (!wanted || one->ifa_addr == nullptr || one->ifa_netmask == nullptr) continue;
    if (one->ifa_addr->sa_family != AF_INET) continue;
    out.push_back({one->ifa_name, in(one->ifa_addr), std::popcount(in(one->ifa_netmask).to_uint())});
  }
  return out;
}

SweepPlan plan_sweep(const std::vector<LocalPrefix>& prefixes, std::vector<std::uint16_t> ports) {
  SweepPlan out;
  out.ports = std::move(ports);
  std::set<std::uint32_t> own, targets;
  for (const LocalPrefix& prefix : prefixes) own.insert(prefix.own.to_uint());
  for (const LocalPrefix& prefix : prefixes) {
    if (prefix.length < kShortestSwept) {
      out.too_large.push_back(prefix);
      continue;
    }
    out.prefixes.push_back(prefix);
    const std::uint32_t first = prefix.own.to_uint() & mask_of(prefix.length);
    const std::uint32_t last = first | ~mask_of(prefix.length);
    // A prefix of 31 bits has neither network nor broadcast address (RFC 3021).
    const std::uint32_t edge = prefix.length >= 31 ? 0 : 1;
    for (std::uint64_t host = std::uint64_t{first} + edge; host + edge <= last; ++host) {
      const auto address = static_cast<std::uint32_t>(host);
      if (!own.contains(address)) targets.insert(address);
    }
  }
  for (const std::uint32_t target : targets) out.targets.emplace_back(target);
  return out;
}

std::string SweepPlan::text() const {
  std::vector<std::string> parts;
  for (const LocalPrefix& prefix : prefixes)
    parts.push_back(fmt::format("{} on {}", prefix.text(), prefix.interface));
  std::string out;
  if (targets.empty()) {
    out = "no address to knock at";
  } else {
    const SweepPace pace;
    const std::span others = std::span(ports).subspan(1);
    const auto rate = 1000 / pace.between.count();
    out = fmt::format(
        "knocks at {} addresses ({}) on TCP port {}{}, at most {} a second; about {} s", targets.size(),
        fmt::join(parts, ", "), ports.front(),
        others.empty() ? "" : fmt::format(", or {} where that is refused", fmt::join(others, ", then ")),
        rate,
        1 + static_cast<long>(targets.size()) *
                std::max<long>(pace.between.count(), pace.limit.count() / 64) / 1000);
  }
  for (const LocalPrefix& prefix : too_large)
    out += fmt::format("; leaves out {} on {}, which is larger than /{}", prefix.text(), prefix.interface,
                       kShortestSwept);
  return out;
}

asio::awaitable<void> sweep(SweepPlan plan, SweepPace pace,
                            std::function<void(asio::ip::address_v4, std::uint16_t)> on_open) {
  const asio::any_io_executor strand = co_await asio::this_coro::executor;
  auto heard = std::make_shared<std::function<void(asio::ip::address_v4, std::uint16_t)>>(std::move(on_open));
  asio::steady_timer timer(strand);
  std::deque<Supervised> under_way;
  std::size_t next = 0;
  while (next < plan.targets.size() || !under_way.empty()) {
    std::erase_if(under_way, [](const Supervised& one) { return one.ended(); });
    if (next < plan.targets.size() && under_way.size() < pace.at_once_most) {
      auto at = std::make_shared<Knock>(plan.targets[next], pace, plan.ports, heard);
      ++next;
      under_way.push_back(supervise(strand, "sweep", [at] { return knock(at); }));
    }
    timer.expires_after(pace.between);
    auto waiting = timer.async_wait(asio::use_awaitable);
    co_await std::move(waiting);
  }
}

}  // namespace rookery::net
