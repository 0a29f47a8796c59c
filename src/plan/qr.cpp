#include "plan/qr.h"

#include <qrencode.h>

#include <fmt/format.h>

#include "base/markup.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr int kQuietModules = 4;  // ISO/IEC 18004, 9.1

struct FreeCode {
  void operator()(QRcode* code) const { QRcode_free(code); }
};

// Runs of dark modules of one row, as path commands: fewer and without hairlines between neighbours.
std::string row_path(const QRcode& code, int y) {
  std::string out;
  for (int x = 0; x < code.width;) {
    int end = x;
    while (end < code.width && (code.data[y * code.width + end] & 1) != 0) ++end;
    if (end > x) {
      out += fmt::format("M{} {}h{}v1h-{}z", x + kQuietModules, y + kQuietModules, end - x, end - x);
      x = end;
    } else {
      ++x;
    }
  }
  return out;
}

}  // namespace

base::Result<std::string> qr_svg(std::string_view text, std::string_view title) {
  if (text.empty() || text.find('\0') != std::string_view::npos) {
    return base::Error(base::ErrorCode::invalid_value, "QR code", "there is no text to encode",
                       "give an address");
  }
  const std::string terminated(text);
  const std::unique_ptr<QRcode, FreeCode> code(QRcode_encodeString8bit(terminated.c_str(), 0, QR_ECLEVEL_M));
  if (!code) {
    return base::Error(base::ErrorCode::too_large, "QR code",
                       fmt::format("{} bytes are more than a code can hold", text.size()),
                       "shorten the address");
  }
  const int side = code->width + 2 * kQuietModules;
  std::string path;
  for (int y = 0; y < code->width; ++y) path += row_path(*code, y);
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {0}\" role=\"img\" "
      "shape-rendering=\"crispEdges\">"
      "<title>{1}</title><path fill=\"#fff\" d=\"M0 0h{0}v{0}H0z\"/><path fill=\"#000\" d=\"{2}\"/></svg>",
      side, base::escaped(title), path);
}

}  // namespace rookery::plan
