// mend(Catalog&): after a crash, files and catalog agree again.
#include "archive/mend.h"
#include "archive/segment_path.h"
#include "archive/upkeep.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::ErrorCode;

class Mending {
 public:
  explicit Mending(Catalog& catalog) : store_(catalog), archive_(archive_folder(catalog.home())) {}

  base::Result<void> mend_entry(Segment segment);
  // Files that were begun after `segment` and have no entry yet: the crash came between.
  base::Result<void> mend_strays_after(const Segment& segment);
  const MendReport& report() const { return report_; }

 private:
  base::Result<void> mend_stray(const base::CameraName& camera, const std::string& path);
  void count(const Segment& segment, std::uint64_t bytes_cut);
  bool set_aside(const std::string& path, const base::Error& why);

  SegmentStore store_;
  const std::filesystem::path archive_;
  MendReport report_;
};

void fill_in(Segment& segment, const MendedFile& mended) {
  const auto& index = mended.index;
  segment.start = index.time_of(0);
  segment.end = index.time_of(index.frames().size() - 1);
  segment.frames = index.frames().size();
  segment.bytes = mended.bytes;
  segment.open = false;
}

void Mending::count(const Segment& segment, std::uint64_t bytes_cut) {
  ++report_.mended;
  report_.bytes_cut += bytes_cut;
  base::log_info(segment.camera.text(), "mended {}: {} frames, {} bytes of a torn frame cut off",
                 segment.path, segment.frames, bytes_cut);
}

bool Mending::set_aside(const std::string& path, const base::Error& why) {
  auto aside = archive_ / path;
  aside += kDamagedEnding;
  std::error_code failed;
  std::filesystem::rename(archive_ / path, aside, failed);
  if (failed) {
    base::log_error("archive", "{} cannot be set aside: {}", path, failed.message());
    return false;
  }
  ++report_.set_aside;
  base::log_warning("archive", "{}; set aside as {}", why.text(), aside.string());
  return true;
}

base::Result<void> Mending::mend_entry(Segment segment) {
  ++report_.segments_looked_at;
  auto mended = mend_file(archive_ / segment.path, MendLock::take);
  if (mended) {
    fill_in(segment, *mended);
    count(segment, mended->bytes_cut);
    return store_.set(segment);
  }
  switch (mended.error().code) {
    case ErrorCode::busy:
      return base::ok();  // another process records it
    case ErrorCode::not_found:
      base::log_warning(segment.camera.text(),
                        "{} is in the catalog but not on the disk; its entry is removed", segment.path);
      return store_.remove(segment.id);
    case ErrorCode::damaged:
      if (set_aside(segment.path, mended.error())) return store_.remove(segment.id);
      return base::ok();
    default:
      base::log_error(segment.camera.text(), "{}", mended.error().text());
      return base::ok();
  }
}

base::Result<void> Mending::mend_stray(const base::CameraName& camera, const std::string& path) {
  auto known = store_.find(path);
  if (!known) return std::move(known).error();
  if (*known) return base::ok();
  ++report_.segments_looked_at;
  auto mended = mend_file(archive_ / path, MendLock::take);
  if (!mended) {
    if (mended.error().code == ErrorCode::damaged) set_aside(path, mended.error());
    return base::ok();
  }
  Segment segment{camera};
  segment.path = path;
  fill_in(segment, *mended);
  segment.kept = has_kept_mark(archive_ / path);
  count(segment, mended->bytes_cut);
  auto added = store_.add(segment);
  if (!added) return std::move(added).error();
  return base::ok();
}

base::Result<void> Mending::mend_strays_after(const Segment& segment) {
  const auto camera_folder = archive_ / segment.camera.text();
  const std::filesystem::path own{segment.path};
  const std::string day = own.parent_path().filename().string();
  std::error_code failed;
  for (const auto& folder : std::filesystem::directory_iterator(camera_folder, failed)) {
    // Names are dates and times, so that their order is that of time.
    const std::string its_day = folder.path().filename().string();
    if (its_day < day || !folder.is_directory(failed)) continue;
    for (const auto& file : std::filesystem::directory_iterator(folder.path(), failed)) {
      const std::string name = file.path().filename().string();
      if (!name.ends_with(kSegmentEnding) || (its_day == day && name <= own.filename().string())) continue;
      auto done = mend_stray(segment.camera, fmt::format("{}/{}/{}", segment.camera.text(), its_day, name));
      if (!done) return done;
    }
  }
  return base::ok();
}

}  // namespace

base::Result<MendReport> mend(Catalog& catalog) {
  auto open = SegmentStore{catalog}.still_open();
  if (!open) return std::move(open).error();
  Mending mending{catalog};
  for (const Segment& segment : *open) {
    if (auto done = mending.mend_entry(segment); !done) return std::move(done).error();
    if (auto done = mending.mend_strays_after(segment); !done) return std::move(done).error();
  }
  return mending.report();
}

}  // namespace rookery::archive
