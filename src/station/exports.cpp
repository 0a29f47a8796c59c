#include "station/exports.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "station/exports_impl.h"

namespace rookery::station {
namespace {

constexpr std::size_t kMostWaiting = 20;
// Of one person, so that nobody takes another's place: exports that wait, and finished ones that are kept
// ready (another one takes the place of the oldest).
constexpr std::size_t kMostWaitingEach = 5;
constexpr std::size_t kMostFinishedEach = 8;

}  // namespace

Exports::Impl::Impl(archive::Catalog& catalog_, const base::Clock& clock_, ExportLimits limits_,
                    archive::Disk& disk_)
    : catalog(catalog_),
      store(catalog_),
      clock(clock_),
      limits(limits_),
      disk(disk_),
      folder(catalog_.home() / "exports") {
  if (auto stored = store.all()) {
    for (const archive::StoredExport& one : *stored) take_up(one);
    remove_strays();
  } else {
    base::log_error("exports", "what was asked for is not made: {}", stored.error().text());
  }
  thread = std::thread([this] { work_off(); });
}

Exports::Impl::~Impl() {
  {
    const std::lock_guard lock(mutex);
    stopping = true;
  }
  wake.notify_all();
  thread.join();
}

// From an earlier run. Before the thread begins.
void Exports::Impl::take_up(const archive::StoredExport& stored) {
  ExportView view(stored.id, stored.person, stored.request);
  view.lapse = stored.lapse;
  view.file_name = offered_name(view);
  const auto age =
      std::clamp<base::Microseconds>(clock.wall() - stored.asked, base::Microseconds{0}, kExportLife);
  if (stored.is_wanted() && stored.begun >= kMostBegun) {
    view.state = ExportState::failed;
    view.error = base::Error(base::ErrorCode::unsupported, "export",
                             fmt::format("the station ended {} times while it was made", stored.begun),
                             "Ask for a shorter span or a smaller picture.");
    note(store.note_failed(view.id, *view.error));
  } else if (stored.error) {
    view.state = ExportState::failed;
    view.error = stored.error;
  } else if (stored.result) {
    view.state = ExportState::done;
    view.progress = 1;
    view.result = stored.result;
    view.lapse_result = stored.lapse_result;
    view.file = file_of(view);
    std::error_code failed;
    if (!std::filesystem::is_regular_file(view.file, failed)) return store.forget_later(view.id);
  }
  auto job = std::make_shared<Job>(view, clock.mono() - age);
  job->turn = ++turns;
  jobs.emplace(view.id, job);
  if (!is_finished(view)) waiting.push_back(std::move(job));
}

// What was being written when a run ended, and what nobody asks for any more.
void Exports::Impl::remove_strays() const {
  std::set<std::filesystem::path> ours;
  for (const auto& [id, job] : jobs) ours.insert(job->view.file);
  std::error_code failed;
  for (const auto& entry : std::filesystem::directory_iterator(folder, failed)) {
    std::error_code ignored;
    if (!ours.contains(entry.path())) std::filesystem::remove_all(entry.path(), ignored);
  }
}

// Whether there is a place for it; then it has one, and does not wait yet.
base::Result<std::shared_ptr<Exports::Impl::Job>> Exports::Impl::reserve(ExportView view) {
  const std::lock_guard lock(mutex);
  const std::int64_t person = view.person;
  const auto is_waiting = [](const ExportView& one) { return one.state == ExportState::waiting; };
  const std::size_t own = count(person, is_waiting);
  const auto many = static_cast<std::size_t>(
      std::ranges::count_if(jobs, [&](const auto& entry) { return is_waiting(entry.second->view); }));
  if (own >= kMostWaitingEach || many >= kMostWaiting) {
    return base::Error(base::ErrorCode::busy, "export",
                       own >= kMostWaitingEach ? fmt::format("{} of your exports wait already", own)
                                               : fmt::format("{} exports wait already", many),
                       "Try again when one of them is done.");
  }
  if (auto never = hopeless(view)) return *std::move(never);
  while (count(person, is_finished) >= kMostFinishedEach && drop_oldest_finished(person)) {
  }
  view.file_name = offered_name(view);
  auto job = std::make_shared<Job>(view, clock.mono());
  job->turn = ++turns;
  jobs.emplace(view.id, job);
  return job;
}

base::Result<ExportView> Exports::Impl::start(ExportView view) {
  auto job = reserve(std::move(view));
  if (!job) return std::move(job).error();
  const ExportView& asked = (*job)->view;
  archive::StoredExport stored(asked.id, asked.person, clock.wall(), asked.request);
  stored.lapse = asked.lapse;
  const auto added = store.add(stored);  // may wait for the disk, so not with the mutex held
  const std::lock_guard lock(mutex);
  if (!added) {
    jobs.erase(stored.id);
    return added.error();
  }
  waiting.push_back(*job);
  wake.notify_one();
  return asked;
}

Exports::Exports(archive::Catalog& catalog, const base::Clock& clock, ExportLimits limits,
                 archive::Disk& disk)
    : impl_(std::make_unique<Impl>(catalog, clock, limits, disk)) {}
Exports::~Exports() = default;

void Exports::ask_to_stop() { impl_->stopping = true; }

base::Result<ExportView> Exports::start(std::int64_t person, archive::ExportRequest request) {
  return impl_->start(ExportView(new_export_id(), person, std::move(request)));
}

base::Result<ExportView> Exports::start_lapse(std::int64_t person, archive::ExportRequest span,
                                              archive::LapseRequest lapse) {
  ExportView view(new_export_id(), person, std::move(span));
  view.lapse = std::move(lapse);
  return impl_->start(std::move(view));
}

base::Result<ExportView> Exports::find(const std::string& id) const {
  const std::lock_guard lock(impl_->mutex);
  const auto it = impl_->jobs.find(id);
  if (it == impl_->jobs.end()) {
    return base::Error(base::ErrorCode::not_found, "export", "there is no such export",
                       "Exports are kept for a day, or until newer ones need their room; ask for it again.");
  }
  return it->second->view;
}

std::vector<ExportView> Exports::of(std::int64_t person) const {
  std::vector<std::shared_ptr<Impl::Job>> own;
  const std::lock_guard lock(impl_->mutex);
  for (const auto& [id, job] : impl_->jobs) {
    if (job->view.person == person) own.push_back(job);
  }
  std::ranges::stable_sort(own, std::greater<>(), [](const auto& job) { return job->turn; });
  std::vector<ExportView> views;
  for (const auto& job : own) views.push_back(job->view);
  return views;
}

base::Result<void> Exports::remove(const std::string& id) {
  const std::lock_guard lock(impl_->mutex);
  const auto it = impl_->jobs.find(id);
  if (it == impl_->jobs.end())
    return base::Error(base::ErrorCode::not_found, "export", "there is no such export");
  it->second->cancel = true;
  std::error_code ignored;
  if (!it->second->view.file.empty()) std::filesystem::remove(it->second->view.file, ignored);
  std::erase(impl_->waiting, it->second);
  impl_->store.forget_later(id);
  impl_->jobs.erase(it);
  return base::ok();
}

std::uint64_t Exports::bytes() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->bytes_in_folder();
}

const ExportLimits& Exports::limits() const& { return impl_->limits; }

}  // namespace rookery::station
