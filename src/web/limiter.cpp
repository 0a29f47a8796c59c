#include "web/limiter.h"

#include <boost/asio/ip/address.hpp>

namespace rookery::web {

Limiter::Limiter(double burst, std::chrono::milliseconds refill_each, std::size_t keys_most)
    : burst_(burst), refill_each_(refill_each), keys_most_(keys_most), shared_{burst, {}} {}

Limiter::Bucket& Limiter::bucket(const std::string& key, base::MonoTime now) {
  auto found = buckets_.find(key);
  if (found == buckets_.end()) {
    if (buckets_.size() >= keys_most_) drop_full(now);
    if (buckets_.size() >= keys_most_) {
      found = buckets_.end();
    } else {
      found = buckets_.emplace(key, Bucket{burst_, now}).first;
    }
  }
  Bucket& bucket = found == buckets_.end() ? shared_ : found->second;
  const std::chrono::duration<double> since = now - bucket.seen;
  if (since.count() > 0) {
    bucket.held = std::min(burst_, bucket.held + since / std::chrono::duration<double>(refill_each_));
    bucket.seen = now;
  }
  return bucket;
}

// A bucket that has filled up again says nothing: it is as good as none.
void Limiter::drop_full(base::MonoTime now) {
  std::erase_if(buckets_, [&](const auto& entry) {
    const std::chrono::duration<double> since = now - entry.second.seen;
    return entry.second.held + since / std::chrono::duration<double>(refill_each_) >= burst_;
  });
}

std::chrono::milliseconds Limiter::take(const std::string& key, base::MonoTime now) {
  const std::scoped_lock lock(mutex_);
  Bucket& mine = bucket(key, now);
  if (mine.held >= 1) {
    mine.held -= 1;
    return std::chrono::milliseconds{0};
  }
  const std::chrono::duration<double, std::milli> wait = (1 - mine.held) * refill_each_;
  return std::chrono::ceil<std::chrono::milliseconds>(wait);
}

void Limiter::give_back(const std::string& key, base::MonoTime now) {
  const std::scoped_lock lock(mutex_);
  Bucket& mine = bucket(key, now);
  mine.held = std::min(burst_, mine.held + 1);
}

std::string limiter_key(const std::string& address) {
  boost::system::error_code error;
  const auto parsed = boost::asio::ip::make_address(address, error);
  if (error || parsed.is_v4()) return address;
  const auto v6 = parsed.to_v6();
  if (v6.is_v4_mapped()) {
    return boost::asio::ip::make_address_v4(boost::asio::ip::v4_mapped, v6).to_string();
  }
  auto bytes = v6.to_bytes();
  std::fill(bytes.begin() + 8, bytes.end(), static_cast<unsigned char>(0));
  return boost::asio::ip::address_v6(bytes).to_string() + "/64";
}

}  // namespace rookery::web
