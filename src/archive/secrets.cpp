#include "archive/secrets.h"

#include <sodium.h>

#include <semaphore>

namespace rookery::archive::secrets {
namespace {

constexpr std::size_t kSecretBytes = 32;

void start_sodium() {
  static const bool ready = sodium_init() >= 0;
  if (!ready) throw std::runtime_error("libsodium cannot start: no source of random numbers");
}

// 64 MiB each: a hundred at once would take 6.4 GB.
std::counting_semaphore<2>& hashing() {
  static std::counting_semaphore<2> two(2);
  return two;
}

class HashingTurn {
 public:
  HashingTurn() { hashing().acquire(); }
  ~HashingTurn() { hashing().release(); }
  HashingTurn(const HashingTurn&) = delete;
  HashingTurn& operator=(const HashingTurn&) = delete;
};

// Any hash with today's limits does: what counts is that comparing with it takes as long as with a real one.
const std::string& nobodys_hash() {
  static const std::string hash = [] {
    auto made = hash_password(new_secret());
    return made ? std::move(made).value() : std::string();
  }();
  return hash;
}

}  // namespace

base::Result<std::string> hash_password(std::string_view password) {
  start_sodium();
  const HashingTurn turn;
  std::string hash(crypto_pwhash_STRBYTES, '\0');
  if (crypto_pwhash_str(hash.data(), password.data(), password.size(), crypto_pwhash_OPSLIMIT_INTERACTIVE,
                        crypto_pwhash_MEMLIMIT_INTERACTIVE) != 0) {
    return base::Error(base::ErrorCode::io, "password",
                       "hashing it needs 64 MiB of memory, and there is less",
                       "Free some memory, then try again.");
  }
  hash.resize(std::strlen(hash.c_str()));
  return hash;
}

bool password_fits(std::string_view hash, std::string_view password) {
  start_sodium();
  const std::string compared(hash.empty() ? std::string_view(nobodys_hash()) : hash);
  const HashingTurn turn;
  const bool fits = crypto_pwhash_str_verify(compared.c_str(), password.data(), password.size()) == 0;
  return fits && !hash.empty();
}

std::string new_secret() {
  start_sodium();
  std::array<unsigned char, kSecretBytes> random{};
  randombytes_buf(random.data(), random.size());
  std::string text(sodium_base64_ENCODED_LEN(kSecretBytes, sodium_base64_VARIANT_URLSAFE_NO_PADDING), '\0');
  sodium_bin2base64(text.data(), text.size(), random.data(), random.size(),
                    sodium_base64_VARIANT_URLSAFE_NO_PADDING);
  text.resize(std::strlen(text.c_str()));
  return text;
}

std::string hash_secret(std::string_view secret) {
  start_sodium();
  std::string hash(crypto_generichash_BYTES, '\0');
  crypto_generichash(reinterpret_cast<unsigned char*>(hash.data()), hash.size(),
                     reinterpret_cast<const unsigned char*>(secret.data()), secret.size(), nullptr, 0);
  return hash;
}

}  // namespace rookery::archive::secrets
