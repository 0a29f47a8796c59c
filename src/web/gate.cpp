#include "web/gate.h"

#include <boost/asio/use_awaitable.hpp>

namespace rookery::web {
namespace asio = boost::asio;
namespace {

// Counts one who is present, as long as it lives.
class Presence {
 public:
  explicit Presence(std::atomic<std::size_t>& count) : count_(&count) {}
  Presence(const Presence&) = delete;
  Presence& operator=(const Presence&) = delete;
  ~Presence() {
    if (count_ != nullptr) count_->fetch_sub(1);
  }
  void stay() { count_ = nullptr; }

 private:
  std::atomic<std::size_t>* count_;
};

}  // namespace

asio::awaitable<Gate::Pass> Gate::enter() {
  const std::size_t before = present_.fetch_add(1);
  Presence presence(present_);
  if (before >= most_) co_return Pass{};
  auto entering = places_.async_send(boost::system::error_code{}, asio::use_awaitable);
  co_await std::move(entering);
  presence.stay();  // from here on the pass counts
  co_return Pass(this);
}

void Gate::leave() {
  places_.try_receive([](boost::system::error_code) {});
  present_.fetch_sub(1);
}

}  // namespace rookery::web
