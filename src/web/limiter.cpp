#include "web/limiter.h"

#include <boost/asio/ip/address.hpp>

namespace rookery::web {

Limiter::Limiter(int burst, std::chrono::milliseconds refill_each, std::size_t keys_most, Crowd crowd)
    : each_(refill_each),
      full_(refill_each * burst),
      keys_most_(keys_most),
      crowd_(crowd),
      shared_{full_, {}} {}

Limiter::Bucket& Limiter::bucket(const std::string& key, base::MonoTime now) {
  auto found = buckets_.find(key);
  if (found == buckets_.end()) {
    if (buckets_.size() >= keys_most_) drop_full(now);
    if (buckets_.size() >= keys_most_ && crowd_ == Crowd::evict) buckets_.erase(buckets_.begin());
    if (buckets_.size() >= keys_most_) {
      found = buckets_.end();
    } else {
      found = buckets_.emplace(key, Bucket{full_, now}).first;
    }
  }
  Bucket& bucket = found == buckets_.end() ? shared_ : found->second;
  if (now > bucket.seen) {
    // Long pauses first: a sum of both could overflow.
    const std::chrono::nanoseconds since = now - bucket.seen;
    bucket.held = since >= full_ ? full_ : std::min(full_, bucket.held + since);
    bucket.seen = now;
  }
  return bucket;
}

// A bucket that has filled up again says nothing: it is as good as none.
void Limiter::drop_full(base::MonoTime now) {
  std::erase_if(buckets_,
                [&](const auto& entry) { return now - entry.second.seen >= full_ - entry.second.held; });
}

std::chrono::milliseconds Limiter::take(const std::string& key, base::MonoTime now) {
  const std::scoped_lock lock(mutex_);
  Bucket& mine = bucket(key, now);
  if (mine.held >= each_) {
    mine.held -= each_;
    return std::chrono::milliseconds{0};
  }
  return std::chrono::ceil<std::chrono::milliseconds>(each_ - mine.held);
}

void Limiter::give_back(const std::string& key, base::MonoTime now) {
  const std::scoped_lock lock(mutex_);
  Bucket& mine = bucket(key, now);
  mine.held = std::min(full_, mine.held + each_);
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
