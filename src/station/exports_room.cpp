// Exports: what they take on the disk, and which of them go to make room.
#include <algorithm>

#include "station/export_room.h"
#include "station/exports_impl.h"

namespace rookery::station {

// What lies in the folder: the finished ones as the jobs know them, and the one under way.
std::uint64_t Exports::Impl::bytes_of_finished() const {
  std::uint64_t bytes = 0;
  for (const auto& [id, job] : jobs)
    if (job->view.result) bytes += job->view.result->bytes;
  return bytes;
}
std::uint64_t Exports::Impl::bytes_in_folder() const {
  std::uint64_t bytes = 0;
  std::error_code failed;
  for (std::filesystem::directory_iterator it(folder, failed), end; !failed && it != end;
       it.increment(failed)) {
    std::error_code gone;
    const std::uint64_t size = it->file_size(gone);
    if (!gone) bytes += size;
  }
  return bytes;
}

// Makes room for the export under way, which needs so many bytes or has written more already: the oldest
// finished ones go. An error when that is not enough.
std::optional<base::Error> Exports::Impl::fit(std::uint64_t needed) {
  for (;;) {
    auto space = disk.space(catalog.home());  // not with the mutex held: a disk may keep one waiting
    if (!space) return space.error();
    const std::lock_guard lock(mutex);
    const std::uint64_t finished_bytes = bytes_of_finished();
    const std::uint64_t all = bytes_in_folder();
    const std::uint64_t already = all - std::min(all, finished_bytes);
    const ExportRoom room = export_room(limits, *space, finished_bytes, already);
    if (std::max(needed, already) <= room.most()) return std::nullopt;
    if (!drop_oldest_finished()) return no_room(room, limits, std::max(needed, already));
  }
}

// Of everybody's, or of one person's. Called with the mutex held. False when none is finished.
bool Exports::Impl::drop_oldest_finished(std::optional<std::int64_t> person) {
  const auto may_go = [person](const ExportView& view) {
    return is_finished(view) && (!person || view.person == *person);
  };
  const auto oldest = std::min_element(jobs.begin(), jobs.end(), [&](const auto& a, const auto& b) {
    return std::pair(!may_go(a.second->view), a.second->made) <
           std::pair(!may_go(b.second->view), b.second->made);
  });
  if (oldest == jobs.end() || !may_go(oldest->second->view)) return false;
  std::error_code ignored;
  if (!oldest->second->view.file.empty()) std::filesystem::remove(oldest->second->view.file, ignored);
  base::log_info("exports", "{} was removed to make room for a newer one", oldest->second->view.file_name);
  store.forget_later(oldest->first);
  jobs.erase(oldest);
  return true;
}

// Removes what has been there for a day. Called with the mutex held.
void Exports::Impl::expire() {
  const base::MonoTime now = clock.mono();
  std::erase_if(jobs, [&](auto& entry) {
    Job& job = *entry.second;
    if (!is_finished(job.view) || now - job.made < kExportLife) return false;
    std::error_code ignored;
    std::filesystem::remove(job.view.file, ignored);
    store.forget_later(entry.first);
    return true;
  });
}

// Why a request can never fit, were all finished ones gone. Called with the mutex held.
std::optional<base::Error> Exports::Impl::hopeless(const ExportView& view) const {
  auto space = disk.space(catalog.home());
  if (!space) return std::nullopt;  // what is wrong shows when it is written
  space->free_bytes += bytes_of_finished();
  const ExportRoom room = export_room(limits, *space, 0, 0);
  const std::uint64_t needed = std::max<std::uint64_t>(estimate(view), 1);
  if (needed <= room.most()) return std::nullopt;
  return no_room(room, limits, needed);
}

}  // namespace rookery::station
