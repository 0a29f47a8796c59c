#include "web/token_desk.h"

#include <algorithm>
#include <array>
#include <cstring>

#include <fmt/format.h>
#include <sodium.h>

namespace rookery::web {
namespace {

constexpr std::size_t kMostRemembered = 4096;
constexpr std::chrono::minutes kWrongFor{1};

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

// A token that opens no camera here may open one there, or be for another use.
std::uint64_t fingerprint_of(const std::string& secret, const std::optional<base::CameraName>& camera,
                             archive::TokenUse use) {
  return fingerprint_of(
      fmt::format("{}\n{}\n{}", static_cast<int>(use), camera ? camera->text() : "", secret));
}

bool is_refusal(const base::Error& error) {
  return error.code == base::ErrorCode::no_permission || error.code == base::ErrorCode::not_found;
}

}  // namespace

TokenDesk::Verdict TokenDesk::look_at(const std::string& secret,
                                      const std::optional<base::CameraName>& camera, archive::TokenUse use,
                                      const std::string& peer) {
  Verdict verdict;
  const std::uint64_t token = fingerprint_of(secret);
  const std::uint64_t question = fingerprint_of(secret, camera, use);
  const std::string address = limiter_key(peer);
  const base::MonoTime now = station_.clock().mono();
  if (is_known_wrong(question, now)) return verdict;
  const bool trusted = was_right(token);
  if (!trusted) {
    verdict.wait = looks_.take(address, now);
    if (verdict.wait.count() > 0) return verdict;
  }
  auto found = station_.people().check_token(camera, secret, use, station_.clock().wall());
  const bool wrong = !found && is_refusal(found.error());
  if (!wrong && !trusted) looks_.give_back(address, now);
  if (wrong) {
    const auto wait = tries_.take(address, now);
    if (!trusted) verdict.wait = wait;  // else it was revoked since, or is for another use
  }
  // Whoever has to wait is not told that it was looked up, now or later.
  if (verdict.wait.count() == 0 && (found || wrong)) remember(token, question, found.has_value());
  if (found) {
    verdict.token = std::move(*found);
  } else if (!wrong) {
    verdict.failure = found.error();
  }
  return verdict;
}

bool TokenDesk::was_right(std::uint64_t print) const {
  const std::scoped_lock lock(mutex_);
  return right_.contains(print);
}

bool TokenDesk::is_known_wrong(std::uint64_t print, base::MonoTime now) const {
  const std::scoped_lock lock(mutex_);
  const auto known = wrong_.find(print);
  return known != wrong_.end() && now - known->second < kWrongFor;
}

void TokenDesk::remember(std::uint64_t token, std::uint64_t question, bool right) {
  const std::scoped_lock lock(mutex_);
  const base::MonoTime now = station_.clock().mono();
  if (right) {
    put(right_, token, now);
    wrong_.erase(question);
  } else {
    right_.erase(token);
    put(wrong_, question, now);
  }
}

void TokenDesk::put(Prints& prints, std::uint64_t print, base::MonoTime now) {
  if (prints.size() >= kMostRemembered && !prints.contains(print)) {
    prints.erase(std::min_element(prints.begin(), prints.end(),
                                  [](const auto& a, const auto& b) { return a.second < b.second; }));
  }
  prints[print] = now;
}

}  // namespace rookery::web
