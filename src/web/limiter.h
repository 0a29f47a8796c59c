// Rate limits of sign-in: a token bucket for each address and one for each name.
#pragma once

#include <chrono>
#include <mutex>
#include <string>
#include <unordered_map>

#include "base/time.h"

namespace rookery::web {

// Buckets by key, driven by the times that it is given. any-thread. Holds at most `keys_most` keys: beyond
// that all new ones share one bucket, so that an attacker with many keys cannot fill the memory.
class Limiter {
 public:
  Limiter(int burst, std::chrono::milliseconds refill_each, std::size_t keys_most = 10'000);

  // Takes one from the key's bucket. Returns how long to wait before one is there: zero means it was taken.
  std::chrono::milliseconds take(const std::string& key, base::MonoTime now);
  // Puts one back: the try was a good one.
  void give_back(const std::string& key, base::MonoTime now);

 private:
  // Held as time, so that sums are exact: one try is worth refill_each.
  struct Bucket {
    std::chrono::nanoseconds held;
    base::MonoTime seen;
  };
  Bucket& bucket(const std::string& key, base::MonoTime now);
  void drop_full(base::MonoTime now);

  const std::chrono::nanoseconds each_;
  const std::chrono::nanoseconds full_;
  const std::size_t keys_most_;
  std::mutex mutex_;
  std::unordered_map<std::string, Bucket> buckets_;
  Bucket shared_;
};

// What an address counts as: an IPv4 address for itself, IPv6 by its first 64 bits (one household has 2^64).
std::string limiter_key(const std::string& address);

}  // namespace rookery::web
