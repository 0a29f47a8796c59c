// Seals what must be readable again (a board's password) with a key that only this station's home has.
#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::archive {

// immutable. libsodium's secretbox (XSalsa20-Poly1305), a fresh random nonce each time. The key is 32 random
// bytes in <home>/station.key, mode 0600: whoever copies catalog.db alone gets no password.
class SecretBox {
 public:
  // Makes the key when there is none. Errors: no_permission, disk_full, damaged (not 32 bytes), io.
  static base::Result<SecretBox> make_or_open(const std::filesystem::path& home);
  // Null when there is no key. Errors: as above.
  static base::Result<std::optional<SecretBox>> open_if_there(const std::filesystem::path& home);
  ~SecretBox();
  SecretBox(const SecretBox&) = default;
  SecretBox& operator=(const SecretBox&) = default;

  // {1, 24 bytes of nonce, 16 bytes of authenticator and the text sealed}.
  std::string seal(std::string_view plain) const;
  // Null when `sealed` was made with another key or has been changed.
  std::optional<std::string> unseal(std::string_view sealed) const;

 private:
  using Key = std::array<unsigned char, 32>;
  explicit SecretBox(const Key& key) : key_(key) {}
  Key key_;
};

}  // namespace rookery::archive
