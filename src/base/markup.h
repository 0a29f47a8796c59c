// Text made fit for XML and HTML.
#pragma once

#include <string>
#include <string_view>

namespace rookery::base {

// &, <, > and quotes as entities, for text and for attributes in quotes; control characters but line break
// and tab, which XML forbids, are left out. Bytes beyond ASCII pass through.
std::string escaped(std::string_view text);

}  // namespace rookery::base
