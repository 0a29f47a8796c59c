// Rate limits of sign-in and of access tokens: a bucket of tries for each address and one for each name.
#pragma once

#include <chrono>
#include <mutex>
#include <string>
#include <unordered_map>

#include "base/time.h"

namespace rookery::web {

// What becomes of a new key when there are as many as may be, so that an attacker with many keys cannot fill
// the memory.
enum class Crowd {
  share,  // all new ones share one bucket: nobody gets more tries, but strangers hurt each other
  evict,  // another key's bucket is forgotten: nobody is hurt by strangers, but many keys get more tries
};

// Buckets by key, driven by the times that it is given. any-thread.
class Limiter {
 public:
  Limiter(int burst, std::chrono::milliseconds refill_each, std::size_t keys_most = 10'000,
          Crowd crowd = Crowd::share);

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
  const Crowd crowd_;
  std::mutex mutex_;
  std::unordered_map<std::string, Bucket> buckets_;
  Bucket shared_;
};

// What an address counts as: an IPv4 address for itself, IPv6 by its first 64 bits (one household has 2^64).
std::string limiter_key(const std::string& address);

}  // namespace rookery::web
