// Which commands find a home, and which may make one.
#include <fmt/format.h>

#include <ostream>

#include "archive/segment_path.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

enum class Found { home, lost_catalog, nothing };

// What may not be looked into, or is no folder, counts as a home: opening it says what is wrong.
Found look_for(const std::filesystem::path& home) {
  std::error_code failed;
  if (std::filesystem::exists(home, failed) && !std::filesystem::is_directory(home, failed))
    return Found::home;
  const bool there = std::filesystem::exists(home / "catalog.db", failed);
  if (there || failed) return Found::home;
  return has_recordings(home) ? Found::lost_catalog : Found::nothing;
}

base::Error lost_catalog(const std::filesystem::path& home) {
  return base::Error(
      base::ErrorCode::not_found, home.string(), "there are recordings here, but no catalog (catalog.db)",
      fmt::format("Make it anew from the recordings: rookery archive rebuild --home {}", home.string()));
}

}  // namespace

bool has_recordings(const std::filesystem::path& home) {
  std::error_code failed;
  const auto archive = archive::archive_folder(home);
  return std::filesystem::is_directory(archive, failed) && !std::filesystem::is_empty(archive, failed) &&
         !failed;
}

base::Result<std::unique_ptr<archive::Catalog>> open_home(const Context& context) {
  switch (look_for(context.home)) {
    case Found::home:
      break;
    case Found::lost_catalog:
      return lost_catalog(context.home);
    case Found::nothing:
      return base::Error(base::ErrorCode::not_found, context.home.string(),
                         "there is no Rookery home here (no catalog.db); nothing was made or changed",
                         "Name the station's home with --home or ROOKERY_HOME. `rookery serve`, `rookery "
                         "camera add` and `rookery person add` make a new home.");
  }
  return archive::Catalog::open(context.home);
}

base::Result<std::unique_ptr<archive::Catalog>> open_or_make_home(Context& context) {
  const Found found = look_for(context.home);
  if (found == Found::lost_catalog) return lost_catalog(context.home);
  auto catalog = archive::Catalog::open(context.home);
  if (catalog && found == Found::nothing) {
    context.err << fmt::format("rookery: made a new home in {}\n", context.home.string());
  }
  return catalog;
}

}  // namespace rookery::cli
