// AsioPoll: lets the mDNS library (avahi-core) wait for its sockets and times on one of our strands, so that
// it needs no thread of its own.
#pragma once

#include <avahi-common/watch.h>

#include <boost/asio/any_io_executor.hpp>

namespace rookery::net {

// strand-bound to `strand`. Must outlive what was made with api().
class AsioPoll {
 public:
  explicit AsioPoll(boost::asio::any_io_executor strand);
  AsioPoll(const AsioPoll&) = delete;
  AsioPoll& operator=(const AsioPoll&) = delete;

  const AvahiPoll* api() const { return &api_; }
  const boost::asio::any_io_executor& strand() const { return strand_; }

 private:
  boost::asio::any_io_executor strand_;
  AvahiPoll api_{};
};

}  // namespace rookery::net
