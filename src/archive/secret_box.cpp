#include "archive/secret_box.h"

#include <sodium.h>

#include "base/file.h"

namespace rookery::archive {
namespace {

constexpr char kFormat = 1;
constexpr std::size_t kHead = 1 + crypto_secretbox_NONCEBYTES;

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

std::filesystem::path key_file(const std::filesystem::path& home) { return home / "station.key"; }

}  // namespace

base::Result<std::optional<SecretBox>> SecretBox::open_if_there(const std::filesystem::path& home) {
  static_assert(sizeof(Key) == crypto_secretbox_KEYBYTES);
  auto content = base::read_file(key_file(home), crypto_secretbox_KEYBYTES);
  if (!content && content.error().code == base::ErrorCode::not_found) return std::optional<SecretBox>{};
  const bool wrong_size = content ? content->size() != crypto_secretbox_KEYBYTES
                                  : content.error().code == base::ErrorCode::too_large;
  if (wrong_size) {
    return base::Error(
        base::ErrorCode::damaged, "station key",
        fmt::format("{} does not hold {} bytes", key_file(home).string(), crypto_secretbox_KEYBYTES),
        "Put it back from a backup; or remove it and set the boards' passwords anew.");
  }
  if (!content) return content.error();
  Key key{};
  std::memcpy(key.data(), content->data(), key.size());
  sodium_memzero(content->data(), content->size());
  return std::optional<SecretBox>(SecretBox(key));
}

base::Result<SecretBox> SecretBox::make_or_open(const std::filesystem::path& home) {
  if (sodium_init() < 0)
    return base::Error(base::ErrorCode::io, "station key", "no source of random numbers");
  auto there = open_if_there(home);
  if (!there) return there.error();
  if (*there) return **there;
  std::string key(crypto_secretbox_KEYBYTES, '\0');
  randombytes_buf(key.data(), key.size());
  const auto made = base::create_durably(key_file(home), key, 0600);
  sodium_memzero(key.data(), key.size());
  // Another process may have made it in between: then that one counts.
  if (!made && made.error().code != base::ErrorCode::already_exists) return made.error();
  there = open_if_there(home);
  if (!there) return there.error();
  if (!*there) return base::Error(base::ErrorCode::io, "station key", "it vanished while it was made");
  return **there;
}

SecretBox::~SecretBox() { sodium_memzero(key_.data(), key_.size()); }

std::string SecretBox::seal(std::string_view plain) const {
  std::string sealed(kHead + crypto_secretbox_MACBYTES + plain.size(), kFormat);
  auto* out = reinterpret_cast<unsigned char*>(sealed.data());
  randombytes_buf(out + 1, crypto_secretbox_NONCEBYTES);
  crypto_secretbox_easy(out + kHead, bytes_of(plain), plain.size(), out + 1, key_.data());
  return sealed;
}

std::optional<std::string> SecretBox::unseal(std::string_view sealed) const {
  if (sealed.size() < kHead + crypto_secretbox_MACBYTES || sealed.front() != kFormat) return std::nullopt;
  std::string plain(sealed.size() - kHead - crypto_secretbox_MACBYTES, '\0');
  const int opened =
      crypto_secretbox_open_easy(reinterpret_cast<unsigned char*>(plain.data()), bytes_of(sealed) + kHead,
                                 sealed.size() - kHead, bytes_of(sealed) + 1, key_.data());
  if (opened != 0) return std::nullopt;
  return plain;
}

}  // namespace rookery::archive
