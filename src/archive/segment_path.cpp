#include "archive/segment_path.h"

#include <fmt/format.h>

namespace rookery::archive {

std::filesystem::path archive_folder(const std::filesystem::path& home) { return home / "archive"; }

std::string segment_path(const base::CameraName& camera, base::WallTime start, int attempt, Track track) {
  std::string when = base::to_rfc3339(start);  // 2026-03-01T12:00:00.250Z
  const std::string day = when.substr(0, 10);
  std::string time = when.substr(11);
  std::erase(time, ':');
  const std::string suffix = attempt == 0 ? "" : fmt::format("-{}", attempt);
  return fmt::format("{}/{}/{}{}{}", camera.text(), day, time, suffix,
                     track == Track::stills ? kStillsEnding : kSegmentEnding);
}

Track track_of(std::string_view path) {
  return path.ends_with(kStillsEnding) ? Track::stills : Track::recording;
}

std::optional<base::CameraName> camera_of(std::string_view path) {
  const auto slash = path.find('/');
  if (slash == std::string_view::npos || !path.ends_with(kSegmentEnding)) return std::nullopt;
  auto name = base::CameraName::parse(path.substr(0, slash));
  if (!name) return std::nullopt;
  return std::move(name).value();
}

std::vector<std::string> list_segment_files(const std::filesystem::path& archive) {
  namespace fs = std::filesystem;
  std::vector<std::string> paths;
  std::error_code failed;
  for (const auto& camera : fs::directory_iterator(archive, failed)) {
    for (const auto& day : fs::directory_iterator(camera.path(), failed)) {
      for (const auto& file : fs::directory_iterator(day.path(), failed)) {
        std::string path = fmt::format("{}/{}/{}", camera.path().filename().string(),
                                       day.path().filename().string(), file.path().filename().string());
        if (camera_of(path)) paths.push_back(std::move(path));
      }
    }
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

bool has_kept_mark(const std::filesystem::path& file) {
  auto mark = file;
  mark += kKeptEnding;
  std::error_code failed;
  // When it cannot be told, it is protected.
  return std::filesystem::exists(mark, failed) || failed;
}

}  // namespace rookery::archive
