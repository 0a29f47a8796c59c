// plan_mend, mend: after a crash, files and catalog agree again.
#include <set>

#include "archive/mend.h"
#include "archive/segment_path.h"
#include "archive/upkeep.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::ErrorCode;

// So many files without any entry can be left by crashes within a moment of a camera's first recording.
constexpr std::size_t kMostUnknown = 4;

// Finds out what a crash left.
class Planning {
 public:
  explicit Planning(Catalog& catalog) : store_(catalog), archive_(archive_folder(catalog.home())) {}

  base::Result<MendPlan> plan();

 private:
  // Files of the camera whose names come after the one at path `after` and that have no entry: a crash came
  // between their beginning and the catalog's next transaction.
  base::Result<void> find_strays(const base::CameraName& camera, const std::string& after);
  base::Result<void> find_unknown(const base::CameraName& camera);
  base::Result<void> find_begun_last();

  SegmentStore store_;
  const std::filesystem::path archive_;
  std::set<std::string> found_;
  MendPlan plan_;
};

// Does it.
class Mending {
 public:
  explicit Mending(Catalog& catalog) : store_(catalog), archive_(archive_folder(catalog.home())) {}

  base::Result<void> mend_entry(Segment segment);
  base::Result<void> mend_stray(const MendPlan::Stray& stray);
  const MendReport& report() const { return report_; }

 private:
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
    auto set = store_.set(segment);
    if (!set && set.error().code != ErrorCode::not_found) return set;  // not_found: rebuilt meanwhile
    count(segment, mended->bytes_cut);
    return base::ok();
  }
  switch (mended.error().code) {
    case ErrorCode::busy:
      return base::ok();  // another process records it
    case ErrorCode::disk_full:
      return std::move(mended).error();
    case ErrorCode::not_found:
      base::log_warning(segment.camera.text(),
                        "{} is in the catalog but not on the disk; its entry is removed", segment.path);
      return store_.forget({&segment.path, 1});
    case ErrorCode::damaged:
      if (set_aside(segment.path, mended.error())) return store_.forget({&segment.path, 1});
      return base::ok();
    default:
      base::log_error(segment.camera.text(), "{}", mended.error().text());
      return base::ok();
  }
}

base::Result<void> Mending::mend_stray(const MendPlan::Stray& stray) {
  auto known = store_.find(stray.path);
  if (!known) return std::move(known).error();
  if (*known) return base::ok();
  ++report_.segments_looked_at;
  auto mended = mend_file(archive_ / stray.path, MendLock::take);
  if (!mended) {
    if (mended.error().code == ErrorCode::disk_full) return std::move(mended).error();
    if (mended.error().code == ErrorCode::damaged) set_aside(stray.path, mended.error());
    return base::ok();
  }
  Segment segment{stray.camera};
  segment.path = stray.path;
  fill_in(segment, *mended);
  segment.kept = has_kept_mark(archive_ / stray.path);
  auto added = store_.add(segment);
  if (!added) return std::move(added).error();
  count(segment, mended->bytes_cut);
  return base::ok();
}

base::Result<void> Planning::find_strays(const base::CameraName& camera, const std::string& after) {
  const std::filesystem::path own{after};
  const std::string day = own.parent_path().filename().string();
  std::error_code failed;
  for (const auto& folder : std::filesystem::directory_iterator(archive_ / camera.text(), failed)) {
    // Names are dates and times, so that their order is that of time.
    const std::string its_day = folder.path().filename().string();
    if (its_day < day || !folder.is_directory(failed)) continue;
    for (const auto& file : std::filesystem::directory_iterator(folder.path(), failed)) {
      const std::string name = file.path().filename().string();
      if (!name.ends_with(kSegmentEnding) || (its_day == day && name <= own.filename().string())) continue;
      std::string path = fmt::format("{}/{}/{}", camera.text(), its_day, name);
      auto known = store_.find(path);
      if (!known) return std::move(known).error();
      if (!*known && found_.insert(path).second) plan_.strays.push_back({camera, std::move(path)});
    }
  }
  return base::ok();
}

// A catalog that knows nothing of a camera with many recordings was lost or made anew: looking them all
// through is a person's decision, since it takes long.
base::Result<void> Planning::find_unknown(const base::CameraName& camera) {
  std::size_t files = 0;
  std::error_code failed;
  for (const auto& folder : std::filesystem::directory_iterator(archive_ / camera.text(), failed)) {
    for (const auto& file : std::filesystem::directory_iterator(folder.path(), failed))
      if (file.path().extension() == kSegmentEnding) ++files;
  }
  if (files <= kMostUnknown) return find_strays(camera, "");
  base::log_warning(
      camera.text(),
      "there are {} recordings that the catalog does not know: `rookery archive rebuild` brings them back",
      files);
  return base::ok();
}

base::Result<void> Planning::find_begun_last() {
  std::error_code failed;
  for (const auto& folder : std::filesystem::directory_iterator(archive_, failed)) {
    const auto camera = base::CameraName::parse(folder.path().filename().string());
    if (!camera) continue;
    auto newest = store_.last_until(*camera, base::WallTime::max());
    if (!newest) return std::move(newest).error();
    auto done = *newest ? find_strays(*camera, (*newest)->path) : find_unknown(*camera);
    if (!done) return done;
  }
  return base::ok();
}

base::Result<MendPlan> Planning::plan() {
  auto open = store_.still_open();
  if (!open) return std::move(open).error();
  plan_.open = std::move(open).value();
  // Names of files stand in order of the clock that gave them, which may have been set back since.
  for (const Segment& segment : plan_.open) {
    if (auto done = find_strays(segment.camera, segment.path); !done) return std::move(done).error();
  }
  if (auto done = find_begun_last(); !done) return std::move(done).error();
  return std::move(plan_);
}

// Takes off the front what `work` has done; stops at its first error.
template <class Item, class Work>
base::Result<void> work_off(std::vector<Item>& items, Work work) {
  std::size_t done = 0;
  base::Result<void> outcome = base::ok();
  while (done < items.size()) {
    outcome = work(items[done]);
    if (!outcome) break;
    ++done;
  }
  items.erase(items.begin(), items.begin() + static_cast<std::ptrdiff_t>(done));
  return outcome;
}

}  // namespace

base::Result<MendPlan> plan_mend(Catalog& catalog) { return Planning{catalog}.plan(); }

base::Result<MendReport> mend(Catalog& catalog, MendPlan& plan) {
  Mending mending{catalog};
  auto done = work_off(plan.open, [&](const Segment& segment) { return mending.mend_entry(segment); });
  if (done) {
    done = work_off(plan.strays, [&](const MendPlan::Stray& stray) { return mending.mend_stray(stray); });
  }
  if (!done) return std::move(done).error();
  return mending.report();
}

base::Result<MendReport> mend(Catalog& catalog) {
  auto plan = plan_mend(catalog);
  if (!plan) return std::move(plan).error();
  return mend(catalog, *plan);
}

}  // namespace rookery::archive
