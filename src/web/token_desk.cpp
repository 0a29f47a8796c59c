#include "web/token_desk.h"

#include <array>
#include <cstring>

#include <sodium.h>

namespace rookery::web {
namespace {

constexpr std::size_t kMostRemembered = 4096;

// Keyed by chance anew in every run, so that nobody can make two secrets look alike.
std::uint64_t fingerprint_of(const std::string& secret) {
  static const auto key = [] {
    std::array<unsigned char, crypto_shorthash_KEYBYTES> random{};
    randombytes_buf(random.data(), random.size());
    return random;
  }();
  std::array<unsigned char, crypto_shorthash_BYTES> hash{};
  crypto_shorthash(hash.data(), reinterpret_cast<const unsigned char*>(secret.data()), secret.size(),
                   key.data());
  std::uint64_t print = 0;
  std::memcpy(&print, hash.data(), sizeof print);
  return print;
}

bool is_refusal(const base::Error& error) {
  return error.code == base::ErrorCode::no_permission || error.code == base::ErrorCode::not_found;
}

}  // namespace

TokenDesk::Verdict TokenDesk::look_at(const std::string& secret,
                                      const std::optional<base::CameraName>& camera, archive::TokenUse use,
                                      const std::string& peer) {
  Verdict verdict;
  const std::uint64_t print = fingerprint_of(secret);
  const std::string address = limiter_key(peer);
  const base::MonoTime now = station_.clock().mono();
  const bool trusted = was_right(print);
  if (!trusted) {
    verdict.wait = limit_.take(address, now);
    if (verdict.wait.count() > 0) return verdict;
  }
  auto found = station_.people().check_token(camera, secret, use, station_.clock().wall());
  const bool wrong = !found && is_refusal(found.error());
  if (wrong && trusted) static_cast<void>(limit_.take(address, now));  // revoked since, or for another use
  if (!wrong && !trusted) limit_.give_back(address, now);
  if (found) {
    verdict.token = std::move(*found);
  } else if (!wrong) {
    verdict.failure = found.error();
  }
  if (found || wrong) remember(print, found.has_value());
  return verdict;
}

bool TokenDesk::was_right(std::uint64_t print) const {
  const std::scoped_lock lock(mutex_);
  return right_.contains(print);
}

void TokenDesk::remember(std::uint64_t print, bool right) {
  const std::scoped_lock lock(mutex_);
  if (!right) {
    right_.erase(print);
    return;
  }
  if (right_.size() >= kMostRemembered && !right_.contains(print)) {
    right_.erase(std::min_element(right_.begin(), right_.end(),
                                  [](const auto& a, const auto& b) { return a.second < b.second; }));
  }
  right_[print] = station_.clock().mono();
}

}  // namespace rookery::web
