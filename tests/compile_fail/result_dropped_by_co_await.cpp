// A Result that was awaited is looked at as well.
// uses: rookery_net
// only: Clang   (g++ 12 says nothing here)
// expect: nodiscard
#include "base/result.h"
#include "net/deadline.h"

boost::asio::awaitable<rookery::base::Result<void>> write();

#ifdef WRONG
boost::asio::awaitable<void> careless() { co_await write(); }
#else
boost::asio::awaitable<bool> careful() {
  const auto done = co_await write();
  co_return done.has_value();
}
#endif
