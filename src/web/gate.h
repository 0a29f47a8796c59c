// Gate: lets a few through at a time, the others wait in line without a thread.
#pragma once

#include <atomic>
#include <cstddef>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/experimental/concurrent_channel.hpp>
#include <boost/asio/io_context.hpp>

namespace rookery::web {

// any-thread.
class Gate {
 public:
  Gate(boost::asio::io_context& io, std::size_t at_once, std::size_t waiting_most)
      : places_(io, at_once), most_(at_once + waiting_most) {}

  // One place, given back when it dies.
  class Pass {
   public:
    Pass() = default;
    explicit Pass(Gate* gate) : gate_(gate) {}
    Pass(Pass&& other) noexcept : gate_(std::exchange(other.gate_, nullptr)) {}
    Pass& operator=(Pass&&) = delete;
    ~Pass() {
      if (gate_ != nullptr) gate_->leave();
    }
    explicit operator bool() const { return gate_ != nullptr; }

   private:
    Gate* gate_ = nullptr;
  };

  // Waits for a place. An empty pass when too many wait already.
  boost::asio::awaitable<Pass> enter();

 private:
  void leave();

  using Channel = boost::asio::experimental::concurrent_channel<void(boost::system::error_code)>;
  Channel places_;  // holds one message for each who is inside
  const std::size_t most_;
  std::atomic<std::size_t> present_{0};
};

}  // namespace rookery::web
