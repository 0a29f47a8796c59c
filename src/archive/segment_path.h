// Inner: where a segment lies: <home>/archive/<camera>/<YYYY-MM-DD>/<HHMMSS.mmm>Z.mkv, in UTC.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "archive/track.h"
#include "base/name.h"
#include "base/time.h"

namespace rookery::archive {

inline constexpr std::string_view kSegmentEnding = ".mkv";
inline constexpr std::string_view kStillsEnding = ".stills.mkv";  // of Track::stills
inline constexpr std::string_view kKeptEnding = ".kept";          // <file>.kept: a person protects it
inline constexpr std::string_view kDamagedEnding = ".damaged";    // <file>.damaged: set aside by mending

std::filesystem::path archive_folder(const std::filesystem::path& home);

// Below the archive folder: "anvil/2026-03-01/120000.000Z.mkv". `attempt` 0 is the plain name; more are for
// when that is taken (the clock was set back): "…Z-1.mkv".
std::string segment_path(const base::CameraName& camera, base::WallTime start, int attempt,
                         Track track = Track::recording);

// Which track a path as above belongs to.
Track track_of(std::string_view path);

// The camera in a path as above; none when it is no such path.
std::optional<base::CameraName> camera_of(std::string_view path);

// Every segment file on disk as its path below the archive folder, oldest day first for each camera. What is
// no camera's folder, day or segment is left out.
std::vector<std::string> list_segment_files(const std::filesystem::path& archive);

// Whether the mark that a person keeps it stands beside the file.
bool has_kept_mark(const std::filesystem::path& file);

}  // namespace rookery::archive
