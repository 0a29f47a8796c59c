#include "camera/board_list.h"

#include <algorithm>

namespace rookery::camera {
namespace {

using Address = boost::asio::ip::address;

// Without the scope, as the neighbour table has it.
Address plain(const Address& address) {
  if (!address.is_v6()) return address;
  return boost::asio::ip::address_v6(address.to_v6().to_bytes());
}

int rank(const Address& address) {
  if (address.is_v4()) return address.to_v4().to_bytes()[0] == 169 ? 1 : 0;  // 169.254/16: RFC 3927
  return is_usable(address) ? 2 : 3;
}

bool contradict(const std::optional<net::HardwareAddress>& a, const std::optional<net::HardwareAddress>& b) {
  return a && b && *a != *b;
}

template <class T>
void add_once(std::vector<T>& all, const T& one) {
  if (std::ranges::find(all, one) == all.end()) all.push_back(one);
}

// Marks boards that share a name with another.
void mark_names(std::vector<FoundBoard>& boards) {
  std::map<std::pair<std::string, std::string>, int> names, hosts;
  for (const FoundBoard& board : boards) {
    for (const std::string& type : board.types) ++names[{board.name, type}];
    if (!board.host.empty()) ++hosts[{board.host, ""}];
  }
  for (FoundBoard& board : boards) {
    board.name_twice = std::ranges::any_of(board.types, [&](const std::string& type) {
      return names[{board.name, type}] > 1;
    });
    if (!board.host.empty() && hosts[{board.host, ""}] > 1) board.name_twice = true;
  }
}

// Cameras that are missing, and found by nothing but their answers.
void recognise_answers(std::vector<FoundBoard>& boards, std::span<const KnownBoard> known) {
  for (const KnownBoard& one : known) {
    const auto is_it = [&one](const FoundBoard& board) {
      return board.known && board.known->camera == one.camera;
    };
    if (!one.is_missing || std::ranges::any_of(boards, is_it)) continue;
    std::vector<BoardEvidence> strangers;
    std::vector<std::size_t> at;
    for (std::size_t i = 0; i < boards.size(); ++i) {
      if (boards[i].known) continue;
      strangers.push_back(boards[i].evidence());
      at.push_back(i);
    }
    if (const auto found = match_by_answers(one, known, strangers))
      boards[at[*found]].known = BoardMatch{one.camera, Sureness::weak, "its answers", false};
  }
}

}  // namespace

bool is_usable(const Address& address) { return !address.is_v6() || !address.to_v6().is_link_local(); }

BoardEvidence FoundBoard::evidence() const {
  BoardEvidence out;
  out.hardware = hardware;
  if (!types.empty()) out.announced = name;
  out.host = host;
  if (answers) out.fingerprint = answers->fingerprint;
  return out;
}

void BoardList::hear(const net::Service& service) { services_[service.key] = service; }

void BoardList::forget(const net::ServiceKey& key) { services_.erase(key); }

void BoardList::hear_host(const std::string& host, std::vector<Address> addresses) {
  if (addresses.empty()) {
    hosts_.erase(host);
  } else {
    hosts_.insert_or_assign(host, std::move(addresses));
  }
}

bool BoardList::was_swept(const Address& address) const {
  const auto found = swept_.lower_bound({address, 0});
  return found != swept_.end() && found->first == address;
}

void BoardList::take_swept(const Address& address, std::uint16_t port) { swept_.insert({address, port}); }

void BoardList::set_neighbours(std::span<const net::Neighbour> neighbours) {
  // What the kernel has forgotten still holds: it forgets after minutes without traffic.
  for (const net::Neighbour& one : neighbours) hardware_.insert_or_assign(one.address, one.hardware);
}

void BoardList::take_answers(const Address& address, std::uint16_t port, BoardAnswers answers) {
  answers_.insert_or_assign({address, port}, std::move(answers));
}

std::optional<net::HardwareAddress> BoardList::hardware_of(const Address& address) const {
  const auto found = hardware_.find(plain(address));
  if (found == hardware_.end()) return std::nullopt;
  return found->second;
}

// One host name may stand for two boards: their hardware addresses tell. An address whose hardware is not
// known belongs to the only board there is.
void BoardList::split(const net::Service* service, const net::ServicePlace& place,
                      std::vector<Place>& out) const {
  std::map<std::optional<net::HardwareAddress>, std::vector<Address>> by_hardware;
  for (const Address& address : place.addresses) by_hardware[hardware_of(address)].push_back(address);
  if (by_hardware.size() == 2 && by_hardware.contains(std::nullopt)) {
    auto unknown = by_hardware.extract(std::nullopt);
    auto& addresses = by_hardware.begin()->second;
    addresses.insert(addresses.end(), unknown.mapped().begin(), unknown.mapped().end());
  }
  if (by_hardware.empty()) by_hardware[std::nullopt];
  const auto port = service != nullptr ? std::optional(place.port) : std::nullopt;
  for (auto& [hardware, addresses] : by_hardware)
    out.push_back({service, place.host, std::move(addresses), port, hardware});
}

std::vector<BoardList::Place> BoardList::places() const {
  std::vector<Place> out;
  for (const auto& [key, service] : services_) {
    for (const net::ServicePlace& place : service.places) split(&service, place, out);
    if (service.places.empty()) out.push_back({&service, {}, {}, std::nullopt, std::nullopt});
  }
  for (const auto& [host, addresses] : hosts_) split(nullptr, {host, 0, addresses}, out);
  for (const auto& [address, port] : swept_)
    out.push_back({nullptr, {}, {address}, port, hardware_of(address)});
  return out;
}

std::vector<FoundBoard> BoardList::boards(std::span<const KnownBoard> known) const {
  std::vector<FoundBoard> out;
  std::map<net::HardwareAddress, std::size_t> by_hardware;
  std::map<Address, std::size_t> by_address;
  for (const Place& place : places()) {
    std::size_t at = out.size();
    if (place.hardware) {
      if (const auto found = by_hardware.find(*place.hardware); found != by_hardware.end())
        at = found->second;
    }
    for (const Address& address : place.addresses) {
      const auto found = by_address.find(address);
      if (at == out.size() && found != by_address.end() &&
          !contradict(out[found->second].hardware, place.hardware))
        at = found->second;
    }
    if (at == out.size()) out.emplace_back();
    FoundBoard& board = out[at];
    if (place.service != nullptr) {
      if (board.name.empty() || board.types.empty()) board.name = place.service->key.instance;
      add_once(board.types, place.service->key.type);
      for (const auto& pair : place.service->txt.pairs) {
        if (!board.txt.find(pair.first)) board.txt.pairs.push_back(pair);
      }
    }
    if (board.host.empty()) board.host = place.host;
    if (place.port) add_once(board.ports, *place.port);
    if (!board.hardware) board.hardware = place.hardware;
    for (const Address& address : place.addresses) {
      add_once(board.addresses, address);
      by_address.emplace(address, at);
    }
    if (board.hardware) by_hardware.emplace(*board.hardware, at);
  }
  for (FoundBoard& board : out) {
    std::ranges::sort(board.ports);
    std::ranges::sort(board.addresses, {}, [](const Address& one) { return std::pair(rank(one), one); });
    if (board.name.empty()) board.name = board.host;
    // Of a board that announces only its host name, no port is known.
    const std::vector<std::uint16_t> asked = board.ports.empty() ? std::vector{kPortUnlessSaid} : board.ports;
    for (const Address& address : board.addresses) {
      for (const std::uint16_t port : asked) {
        const auto found = answers_.find({address, port});
        if (found != answers_.end() && (!board.answers || found->second.kind < board.answers->kind))
          board.answers = found->second;
      }
    }
    std::vector<std::string> addresses;
    for (const Address& address : board.addresses) addresses.push_back(plain(address).to_string());
    board.known = match(board.evidence(), addresses, known);
    board.key = board.hardware             ? "hw:" + board.hardware->text()
                : !board.addresses.empty() ? "at:" + board.addresses.front().to_string()
                                           : "name:" + board.name;
  }
  recognise_answers(out, known);
  mark_names(out);
  std::ranges::sort(out, {}, [](const FoundBoard& one) { return std::tie(one.name, one.addresses); });
  return out;
}

}  // namespace rookery::camera
