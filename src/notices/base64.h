// Bytes as base64 (RFC 4648, section 4), with padding.
#pragma once

#include <string>
#include <string_view>

namespace rookery::notices {

std::string base64(std::string_view bytes);

}  // namespace rookery::notices
