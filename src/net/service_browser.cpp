#include "net/service_browser.h"

#include <avahi-common/address.h>
#include <avahi-common/domain.h>
#include <avahi-common/error.h>
#include <avahi-common/malloc.h>
#include <avahi-core/core.h>
#include <avahi-core/log.h>
#include <avahi-core/lookup.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <map>
#include <optional>
#include <set>
#include <tuple>

#include <fmt/format.h>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>

#include "base/log.h"
#include "net/asio_poll.h"

namespace rookery::net {
namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;

namespace {

// Where an answer was heard: the same record comes over IPv4 and IPv6, and on every interface of ours.
using Heard = std::pair<AvahiIfIndex, AvahiProtocol>;
// A record's values, each with where it was heard: it is gone when it is gone everywhere.
template <class Value>
using Values = std::map<Value, std::set<Heard>>;

// True when the value was not there before, or is not any more.
template <class Value>
bool take(Values<Value>& values, const Value& value, const Heard& heard, bool there) {
  if (there) {
    std::set<Heard>& at = values[value];
    at.insert(heard);
    return at.size() == 1;
  }
  const auto found = values.find(value);
  if (found == values.end()) return false;
  found->second.erase(heard);
  if (!found->second.empty()) return false;
  values.erase(found);
  return true;
}

// Events of bursts are told together: a board's SRV, TXT and addresses come in one packet.
constexpr std::chrono::milliseconds kTogether{10};

struct RecordBrowserEnd {
  void operator()(AvahiSRecordBrowser* browser) const { avahi_s_record_browser_free(browser); }
};
using RecordBrowser = std::unique_ptr<AvahiSRecordBrowser, RecordBrowserEnd>;

struct ServiceBrowserEnd {
  void operator()(AvahiSServiceBrowser* browser) const { avahi_s_service_browser_free(browser); }
};

struct ServerEnd {
  void operator()(AvahiServer* server) const { avahi_server_free(server); }
};

std::string host_of(const char* name) {
  std::string out(name);
  std::ranges::transform(out, out.begin(),
                         [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  while (!out.empty() && out.back() == '.') out.pop_back();
  return out;
}

asio::ip::address address_of(const AvahiRecord& record, AvahiIfIndex interface) {
  if (record.key->type == AVAHI_DNS_TYPE_A) {
    asio::ip::address_v4::bytes_type bytes;
    std::memcpy(bytes.data(), &record.data.a.address.address, bytes.size());  // in network order
    return asio::ip::address_v4(bytes);
  }
  asio::ip::address_v6::bytes_type bytes;
  std::memcpy(bytes.data(), record.data.aaaa.address.address, bytes.size());
  asio::ip::address_v6 out(bytes);
  if (out.is_link_local()) out.scope_id(static_cast<unsigned long>(interface));
  return out;
}

std::vector<std::byte> txt_bytes(AvahiRecord& record) {
  std::vector<std::byte> out(9000);  // RFC 6762 §17: no packet is larger
  const std::size_t size = avahi_rdata_serialize(&record, out.data(), out.size());
  out.resize(size == static_cast<std::size_t>(-1) ? 0 : size);
  return out;
}

void log_of_library(AvahiLogLevel level, const char* text) {
  if (level == AVAHI_LOG_ERROR) {
    base::log_warning("mdns", "{}", text);
  } else {
    base::log_debug("mdns", "{}", text);
  }
}

Error not_started(int error) {
  if (error == AVAHI_ERR_NO_NETWORK) {
    return {ErrorCode::io, "mDNS", "no socket for multicast could be opened on port 5353 (UDP)",
            "Another program may hold that port for itself alone: `ss -ulnp sport = :5353` names it."};
  }
  return {ErrorCode::io, "mDNS", avahi_strerror(error), "See `ip address`: is the network up?"};
}

}  // namespace

// All of it is called by the library or the strand's handlers: one thread at a time.
struct ServiceBrowser::Impl {
  struct Host {
    Impl* impl = nullptr;
    Values<asio::ip::address> addresses;
    RecordBrowser v4, v6;
    int used = 0;        // by places of services, and once when it was asked for
    bool asked = false;  // by itself
  };
  struct One {
    Impl* impl = nullptr;
    ServiceKey key;
    std::set<Heard> heard;
    Values<std::pair<std::string, std::uint16_t>> places;
    Values<std::vector<std::byte>> txts;
    RecordBrowser srv, txt;
  };

  Impl(asio::any_io_executor strand_, Events events_)
      : strand(std::move(strand_)), poll(strand), events(std::move(events_)), timer(strand) {}

  base::Result<void> start(const std::vector<std::string>& types);
  RecordBrowser browse(const std::string& name, std::uint16_t type, AvahiSRecordBrowserCallback callback,
                       void* userdata);
  void hear_instance(const Heard& heard, bool there, ServiceKey key, const char* domain);
  void hear_service(One& one, const Heard& heard, bool there, AvahiRecord& record);
  void hold(const std::string& host);
  void let_go(const std::string& host);
  void mark(const ServiceKey& key);
  void mark_host(const Host& host);
  void ring();
  void tell();
  std::vector<asio::ip::address> addresses_of(const std::string& host) const;
  Service service_of(const One& one) const;

  asio::any_io_executor strand;
  AsioPoll poll;
  Events events;
  asio::steady_timer timer;
  std::shared_ptr<bool> alive = std::make_shared<bool>(true);
  bool telling = false;
  std::set<ServiceKey> changed;
  std::set<std::string> changed_hosts;  // of those that were asked for
  std::unique_ptr<AvahiServer, ServerEnd> server;
  // Before the server dies, as all browsers do.
  std::vector<std::unique_ptr<AvahiSServiceBrowser, ServiceBrowserEnd>> browsers;
  std::map<std::string, std::unique_ptr<Host>> hosts;
  std::map<ServiceKey, std::unique_ptr<One>> services;
};

namespace {

using Impl = ServiceBrowser::Impl;

// `there`, when the event says that something is or is not.
std::optional<bool> is_there(AvahiBrowserEvent event) {
  if (event == AVAHI_BROWSER_NEW) return true;
  if (event == AVAHI_BROWSER_REMOVE) return false;
  return std::nullopt;
}

void on_instance(AvahiSServiceBrowser*, AvahiIfIndex interface, AvahiProtocol protocol,
                 AvahiBrowserEvent event, const char* name, const char* type, const char* domain,
                 AvahiLookupResultFlags, void* userdata) {
  const auto there = is_there(event);
  if (!there || name == nullptr || type == nullptr || domain == nullptr) return;
  static_cast<Impl*>(userdata)->hear_instance({interface, protocol}, *there, {name, type}, domain);
}

void on_service(AvahiSRecordBrowser*, AvahiIfIndex interface, AvahiProtocol protocol, AvahiBrowserEvent event,
                AvahiRecord* record, AvahiLookupResultFlags, void* userdata) {
  const auto there = is_there(event);
  if (!there || record == nullptr) return;
  auto* one = static_cast<Impl::One*>(userdata);
  one->impl->hear_service(*one, {interface, protocol}, *there, *record);
}

void on_address(AvahiSRecordBrowser*, AvahiIfIndex interface, AvahiProtocol protocol, AvahiBrowserEvent event,
                AvahiRecord* record, AvahiLookupResultFlags, void* userdata) {
  const auto there = is_there(event);
  if (!there || record == nullptr) return;
  auto* host = static_cast<Impl::Host*>(userdata);
  if (take(host->addresses, address_of(*record, interface), {interface, protocol}, *there))
    host->impl->mark_host(*host);
}

}  // namespace

base::Result<void> ServiceBrowser::Impl::start(const std::vector<std::string>& types) {
  avahi_set_log_function(log_of_library);
  AvahiServerConfig config;
  avahi_server_config_init(&config);
  config.use_ipv4 = 1;
  config.use_ipv6 = 1;
  config.disable_publishing = 1;
  config.publish_hinfo = config.publish_addresses = config.publish_workstation = config.publish_domain = 0;
  config.enable_wide_area = 0;
  config.enable_reflector = 0;
  config.disallow_other_stacks = 0;  // a daemon that runs keeps running
  int error = 0;
  server.reset(avahi_server_new(poll.api(), &config, nullptr, nullptr, &error));
  avahi_server_config_free(&config);
  if (!server) return not_started(error);
  for (const std::string& type : types) {
    AvahiSServiceBrowser* browser =
        avahi_s_service_browser_new(server.get(), AVAHI_IF_UNSPEC, AVAHI_PROTO_UNSPEC, type.c_str(), "local",
                                    AVAHI_LOOKUP_USE_MULTICAST, on_instance, this);
    if (browser == nullptr) return not_started(avahi_server_errno(server.get()));
    browsers.emplace_back(browser);
  }
  return base::ok();
}

RecordBrowser ServiceBrowser::Impl::browse(const std::string& name, std::uint16_t type,
                                           AvahiSRecordBrowserCallback callback, void* userdata) {
  AvahiKey* key = avahi_key_new(name.c_str(), AVAHI_DNS_CLASS_IN, type);
  RecordBrowser out(avahi_s_record_browser_new(server.get(), AVAHI_IF_UNSPEC, AVAHI_PROTO_UNSPEC, key,
                                               AVAHI_LOOKUP_USE_MULTICAST, callback, userdata));
  avahi_key_unref(key);
  if (!out)
    base::log_debug("mdns", "cannot ask for {}: {}", name, avahi_strerror(avahi_server_errno(server.get())));
  return out;
}

void ServiceBrowser::Impl::hear_instance(const Heard& heard, bool there, ServiceKey key, const char* domain) {
  const auto known = services.find(key);
  if (!there) {
    if (known == services.end()) return;
    known->second->heard.erase(heard);
    if (!known->second->heard.empty()) return;
    for (const auto& [place, at] : known->second->places) let_go(place.first);
    services.erase(known);
    return mark(key);
  }
  if (known != services.end()) {
    known->second->heard.insert(heard);
    return;
  }
  std::array<char, AVAHI_DOMAIN_NAME_MAX> full{};
  if (avahi_service_name_join(full.data(), full.size(), key.instance.c_str(), key.type.c_str(), domain) < 0)
    return;
  auto one = std::make_unique<One>();
  one->impl = this;
  one->key = key;
  one->heard.insert(heard);
  One& placed = *one;
  services[key] = std::move(one);
  placed.srv = browse(full.data(), AVAHI_DNS_TYPE_SRV, on_service, &placed);
  placed.txt = browse(full.data(), AVAHI_DNS_TYPE_TXT, on_service, &placed);
  mark(key);
}

void ServiceBrowser::Impl::hear_service(One& one, const Heard& heard, bool there, AvahiRecord& record) {
  if (record.key->type == AVAHI_DNS_TYPE_TXT) {
    if (take(one.txts, txt_bytes(record), heard, there)) mark(one.key);
    return;
  }
  const std::string host = host_of(record.data.srv.name);
  if (!take(one.places, {host, record.data.srv.port}, heard, there)) return;
  if (there) {
    hold(host);
  } else {
    let_go(host);
  }
  mark(one.key);
}

void ServiceBrowser::Impl::hold(const std::string& host) {
  std::unique_ptr<Host>& place = hosts[host];
  if (!place) {
    place = std::make_unique<Host>();
    place->impl = this;
    place->v4 = browse(host, AVAHI_DNS_TYPE_A, on_address, place.get());
    place->v6 = browse(host, AVAHI_DNS_TYPE_AAAA, on_address, place.get());
  }
  ++place->used;
}

void ServiceBrowser::Impl::let_go(const std::string& host) {
  const auto found = hosts.find(host);
  if (found != hosts.end() && --found->second->used == 0) hosts.erase(found);
}

void ServiceBrowser::Impl::mark_host(const Host& host) {
  if (host.asked) {
    for (const auto& [name, one] : hosts) {
      if (one.get() == &host) changed_hosts.insert(name);
    }
    ring();
  }
  for (const auto& [key, one] : services) {
    for (const auto& [place, at] : one->places) {
      const auto found = hosts.find(place.first);
      if (found != hosts.end() && found->second.get() == &host) mark(key);
    }
  }
}

void ServiceBrowser::Impl::mark(const ServiceKey& key) {
  changed.insert(key);
  ring();
}

void ServiceBrowser::Impl::ring() {
  if (telling) return;
  telling = true;
  timer.expires_after(kTogether);
  // It may be on its way already when this dies.
  timer.async_wait([this, there = std::weak_ptr<bool>(alive)](boost::system::error_code error) {
    if (!error && there.lock()) tell();
  });
}

void ServiceBrowser::Impl::tell() {
  telling = false;
  for (const ServiceKey& key : std::exchange(changed, {})) {
    const auto found = services.find(key);
    if (found == services.end()) {
      events.gone(key);
    } else {
      events.changed(service_of(*found->second));
    }
  }
  for (const std::string& host : std::exchange(changed_hosts, {})) {
    if (events.host_changed) events.host_changed(host, addresses_of(host));
  }
}

std::vector<asio::ip::address> ServiceBrowser::Impl::addresses_of(const std::string& host) const {
  std::vector<asio::ip::address> out;
  const auto found = hosts.find(host);
  if (found == hosts.end()) return out;
  for (const auto& [address, heard] : found->second->addresses) out.push_back(address);
  return out;
}

Service ServiceBrowser::Impl::service_of(const One& one) const {
  Service out;
  out.key = one.key;
  for (const auto& [place, at] : one.places) {
    ServicePlace shown{place.first, place.second, {}};
    shown.addresses = addresses_of(place.first);
    out.places.push_back(std::move(shown));
  }
  if (!one.txts.empty()) out.txt = proto::parse_txt(one.txts.begin()->first);
  return out;
}

void ServiceBrowser::ask_for_host(const std::string& host) {
  const auto known = impl_->hosts.find(host);
  if (known != impl_->hosts.end() && known->second->asked) return;
  impl_->hold(host);
  Impl::Host& held = *impl_->hosts.at(host);
  held.asked = true;
  impl_->mark_host(held);  // its addresses may be known by a service already
}

ServiceBrowser::ServiceBrowser(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
ServiceBrowser::~ServiceBrowser() = default;

base::Result<std::unique_ptr<ServiceBrowser>> ServiceBrowser::start(asio::any_io_executor strand,
                                                                    const std::vector<std::string>& types,
                                                                    Events events) {
  if (types.empty()) return Error(ErrorCode::invalid_value, "mDNS", "no service type to ask for", {});
  for (const std::string& type : types) {
    if (is_service_type(type)) continue;
    return Error(
        ErrorCode::invalid_value, "mDNS",
        fmt::format("\"{}\" is no service type", proto::printable(type, 80)),
        "Write it like _http._tcp: a name of at most 15 letters, digits and \"-\", then _tcp or _udp.");
  }
  auto impl = std::make_unique<Impl>(std::move(strand), std::move(events));
  if (auto started = impl->start(types); !started) return started.error();
  return std::unique_ptr<ServiceBrowser>(new ServiceBrowser(std::move(impl)));
}

bool is_service_type(std::string_view text) {
  if (!text.starts_with('_') || (!text.ends_with("._tcp") && !text.ends_with("._udp"))) return false;
  const std::string_view name = text.substr(1, text.size() - 6);
  return !name.empty() && name.size() <= 15 && std::ranges::all_of(name, [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
  });
}

}  // namespace rookery::net
