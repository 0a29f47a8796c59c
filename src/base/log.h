// The program's log: one line an event on standard error, through spdlog. Never given a secret
// (base/redact.h).
#pragma once

#include <string_view>

#include <fmt/format.h>

namespace rookery::base {

enum class LogLevel { debug, info, warning, error };

// Sets what is shown from now on. any-thread.
void set_log_level(LogLevel level);

// One line, "about" being what it concerns ("bobbin", "archive"). any-thread.
void log_line(LogLevel level, std::string_view about, std::string_view text);

template <class... Args>
void log_debug(std::string_view about, fmt::format_string<Args...> format, Args&&... args) {
  log_line(LogLevel::debug, about, fmt::format(format, std::forward<Args>(args)...));
}
template <class... Args>
void log_info(std::string_view about, fmt::format_string<Args...> format, Args&&... args) {
  log_line(LogLevel::info, about, fmt::format(format, std::forward<Args>(args)...));
}
template <class... Args>
void log_warning(std::string_view about, fmt::format_string<Args...> format, Args&&... args) {
  log_line(LogLevel::warning, about, fmt::format(format, std::forward<Args>(args)...));
}
template <class... Args>
void log_error(std::string_view about, fmt::format_string<Args...> format, Args&&... args) {
  log_line(LogLevel::error, about, fmt::format(format, std::forward<Args>(args)...));
}

}  // namespace rookery::base
