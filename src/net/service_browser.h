// ServiceBrowser: what is announced on the own network (mDNS, RFC 6762; DNS-SD, RFC 6763), by avahi-core
// inside this process. It only asks: nothing of our own is announced.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/ip/address.hpp>

#include "base/result.h"
#include "proto/txt_record.h"

namespace rookery::net {

// What tells services apart. Names as announced: any UTF-8, dots and all.
struct ServiceKey {
  std::string instance;  // at most 63 bytes
  std::string type;      // "_http._tcp"
  auto operator<=>(const ServiceKey&) const = default;
};

// Where a service is, as far as it was answered. One name with two places is claimed by two boards.
struct ServicePlace {
  std::string host;  // "bobbin.local", lower case, without a dot at the end
  std::uint16_t port = 0;
  std::vector<boost::asio::ip::address> addresses;  // in order; link-local IPv6 with its scope
  bool operator==(const ServicePlace&) const = default;
};

// immutable value.
struct Service {
  ServiceKey key;
  std::vector<ServicePlace> places;  // in order of host and port; empty until somebody answers
  proto::TxtRecord txt;
};

// strand-bound to the strand it was started with, its destructor included.
class ServiceBrowser {
 public:
  struct Events {
    std::function<void(const Service&)> changed;  // new, or anything about it is other than before
    std::function<void(const ServiceKey&)> gone;  // it said goodbye, or its time ran out
    // Of hosts that were asked for: all its addresses, in order. May be empty.
    std::function<void(const std::string& host, std::vector<boost::asio::ip::address>)> host_changed;
  };

  // Asks for services of these types ("_http._tcp") on all interfaces, IPv4 and IPv6, until it dies. The
  // events come on the strand, never from inside this call. Errors: invalid_value (no type), io (no socket;
  // what to do is said).
  static base::Result<std::unique_ptr<ServiceBrowser>> start(boost::asio::any_io_executor strand,
                                                             const std::vector<std::string>& types,
                                                             Events events);
  ~ServiceBrowser();
  ServiceBrowser(const ServiceBrowser&) = delete;
  ServiceBrowser& operator=(const ServiceBrowser&) = delete;

  // Asks for the addresses of a host ("bobbin.local", lower case) too, until this dies: two questions,
  // repeated as those for services are.
  void ask_for_host(const std::string& host);

  struct Impl;

 private:
  explicit ServiceBrowser(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

// Whether it is "_NAME._tcp" or "_NAME._udp" with a name of 1 to 15 letters, digits and "-" (RFC 6335 §5.1).
bool is_service_type(std::string_view text);

}  // namespace rookery::net
