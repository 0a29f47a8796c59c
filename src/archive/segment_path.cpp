#include "archive/segment_path.h"

#include <fmt/format.h>

namespace rookery::archive {

std::filesystem::path archive_folder(const std::filesystem::path& home) { return home / "archive"; }

std::string segment_path(const base::CameraName& camera, base::WallTime start, int attempt) {
  std::string when = base::to_rfc3339(start);  // 2026-03-01T12:00:00.250Z
  const std::string day = when.substr(0, 10);
  std::string time = when.substr(11);
  std::erase(time, ':');
  const std::string suffix = attempt == 0 ? "" : fmt::format("-{}", attempt);
  return fmt::format("{}/{}/{}{}{}", camera.text(), day, time, suffix, kSegmentEnding);
}

std::optional<base::CameraName> camera_of(std::string_view path) {
  const auto slash = path.find('/');
  if (slash == std::string_view::npos || !path.ends_with(kSegmentEnding)) return std::nullopt;
  auto name = base::CameraName::parse(path.substr(0, slash));
  if (!name) return std::nullopt;
  return std::move(name).value();
}

}  // namespace rookery::archive
