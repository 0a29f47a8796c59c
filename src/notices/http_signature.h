// Signs HTTP requests: RFC 9421 (HTTP Message Signatures) with hmac-sha256, over a digest of the body (RFC
// 9530).
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/time.h"

namespace rookery::notices {

// HMAC-SHA-256 (RFC 2104, FIPS 180-4): 32 bytes.
std::string hmac_sha256(std::string_view key, std::string_view message);

// What stands in the base that is signed, in order: a component's name ("@method", "content-digest") and
// value.
using Components = std::vector<std::pair<std::string, std::string>>;

// RFC 9421, section 2.5: one line a component, and the parameters. `params` is the value of Signature-Input
// without its label: ("@method" …);created=…;keyid="…".
std::string signature_base(const Components& components, std::string_view params);

// The headers that go along with a POST of `body` as application/json.
struct SignedHeaders {
  std::string content_digest;   // Content-Digest
  std::string signature_input;  // Signature-Input, label "rookery"
  std::string signature;        // Signature
};
// key_id: tells the receiver which secret it is; no secret itself.
SignedHeaders sign_post(std::string_view address, std::string_view body, std::string_view key,
                        std::string_view key_id, base::WallTime created);

}  // namespace rookery::notices
