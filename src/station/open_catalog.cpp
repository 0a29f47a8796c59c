#include "station/open_catalog.h"

#include "archive/home_lock.h"
#include "archive/retention.h"
#include "archive/segment_store.h"
#include "base/log.h"

namespace rookery::station {
namespace {

// What SQLite needs to open and grow its log a little.
constexpr std::uint64_t kFirstRoom = 2u << 20;

}  // namespace

base::Result<std::unique_ptr<archive::Catalog>> open_catalog(const std::filesystem::path& home) {
  auto catalog = archive::Catalog::open(home);
  if (catalog || catalog.error().code != base::ErrorCode::disk_full) return catalog;
  auto lock = archive::HomeLock::take(home);
  if (!lock) return lock.error().code == base::ErrorCode::busy ? lock.error() : catalog.error();
  const auto removed = archive::remove_oldest_files(home, kFirstRoom);
  if (removed.empty()) return catalog;
  catalog = archive::Catalog::open(home);
  if (!catalog) return catalog;
  if (auto done = archive::SegmentStore{**catalog}.forget(removed); !done) return done.error();
  return catalog;
}

base::Result<archive::MendReport> mend_if_there_is_room(archive::Catalog& catalog, archive::MendPlan& plan) {
  auto mended = archive::mend(catalog, plan);
  if (mended || mended.error().code != base::ErrorCode::disk_full) return mended;
  const auto removed = archive::remove_oldest_files(catalog.home(), kFirstRoom);
  if (!removed.empty()) {
    if (auto done = archive::SegmentStore{catalog}.forget(removed); !done) return done.error();
    mended = archive::mend(catalog, plan);
    if (mended || mended.error().code != base::ErrorCode::disk_full) return mended;
  }
  base::log_error("archive", "{} What a crash left is mended as soon as there is room: {} recordings.",
                  mended.error().text(), plan.open.size() + plan.strays.size());
  return archive::MendReport{};
}

}  // namespace rookery::station
