// How people prove who they are: password hashes, random secrets and the hashes under which those are kept.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::archive::secrets {

// Argon2id, libsodium's interactive limits, as its own text form. At most two run at a time in this process;
// more wait. Errors: io (no memory).
base::Result<std::string> hash_password(std::string_view password);

// Whether `password` fits `hash`. An empty hash (no such person) takes as long and never fits.
bool password_fits(std::string_view hash, std::string_view password);

// 32 random bytes as base64url without padding: 43 characters.
std::string new_secret();

// The 32 bytes (BLAKE2b) under which a secret is stored. Secrets are random, so one fast hash is enough.
std::string hash_secret(std::string_view secret);

}  // namespace rookery::archive::secrets
