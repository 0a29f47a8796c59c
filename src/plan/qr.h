// A QR code (ISO/IEC 18004) as an SVG path, for labels.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::plan {

// The code of `text` with its quiet zone of four modules, as an <svg> whose width is the code's own number of
// modules; black on white, whatever the page's colours, since readers want it so. Error correction M. Errors:
// too_large (more than a code of version 40 holds), invalid_value (empty, or with a NUL).
base::Result<std::string> qr_svg(std::string_view text, std::string_view title);

}  // namespace rookery::plan
