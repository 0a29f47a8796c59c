// CameraName: the one word by which a camera is known in addresses, files and on the page.
#pragma once

#include <compare>
#include <functional>
#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::base {

// 1 to 63 characters, a–z 0–9 and "-", starting and ending with a letter or digit (an RFC 1123 label in lower
// case). Safe in a path, a URL and a file name by construction: there is no other way to make one.
class CameraName {
 public:
  static constexpr std::size_t kMaxLength = 63;

  // Errors: invalid_value, naming the first thing that is wrong and a name that would do.
  static Result<CameraName> parse(std::string_view text);

  const std::string& text() const& { return text_; }
  const std::string& text() const&& = delete;
  auto operator<=>(const CameraName&) const = default;

 private:
  explicit CameraName(std::string text) : text_(std::move(text)) {}
  std::string text_;
};

}  // namespace rookery::base

template <>
struct std::hash<rookery::base::CameraName> {
  std::size_t operator()(const rookery::base::CameraName& name) const noexcept {
    return std::hash<std::string>{}(name.text());
  }
};
