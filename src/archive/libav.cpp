#include "archive/libav.h"

#include <array>
#include <mutex>

extern "C" {
#include <libavutil/log.h>
}

#include "archive/disk.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

void log_from_libav(void* context, int level, const char* format, va_list arguments) {
  if (level > AV_LOG_WARNING) return;
  std::array<char, 512> line{};
  int print_prefix = 1;
  av_log_format_line2(context, level, format, arguments, line.data(), static_cast<int>(line.size()),
                      &print_prefix);
  std::string_view text{line.data()};
  while (!text.empty() && text.back() == '\n') text.remove_suffix(1);
  base::log_line(base::LogLevel::debug, "libav", text);
}

}  // namespace

base::Error libav_error(std::string where, int returned) {
  // FFmpeg's own errors are tags of four letters, far below any errno.
  if (returned < 0 && returned > -4096) return disk_error(std::move(where), AVUNERROR(returned));
  std::array<char, AV_ERROR_MAX_STRING_SIZE> text{};
  av_strerror(returned, text.data(), text.size());
  return {base::ErrorCode::io, std::move(where), text.data()};
}

void route_libav_log() {
  static std::once_flag once;
  std::call_once(once, [] { av_log_set_callback(log_from_libav); });
}

}  // namespace rookery::archive
