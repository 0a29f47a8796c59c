#include "base/log.h"

#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>

namespace rookery::base {
namespace {

spdlog::logger& logger() {
  static const std::shared_ptr<spdlog::logger> instance = [] {
    auto made = spdlog::stderr_color_mt("rookery");
    made->set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %^%l%$ %v");
    return made;
  }();
  return *instance;
}

spdlog::level::level_enum level_of(LogLevel level) {
  switch (level) {
    case LogLevel::debug:
      return spdlog::level::debug;
    case LogLevel::info:
      return spdlog::level::info;
    case LogLevel::warning:
      return spdlog::level::warn;
    case LogLevel::error:
      return spdlog::level::err;
  }
  return spdlog::level::info;
}

}  // namespace

void set_log_level(LogLevel level) { logger().set_level(level_of(level)); }

void log_line(LogLevel level, std::string_view about, std::string_view text) {
  logger().log(level_of(level), "{}: {}", about, text);
}

}  // namespace rookery::base
