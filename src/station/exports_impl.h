// Inner: what is asked for, what waits and what is under way.
#pragma once

#include <atomic>
#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <thread>

#include "archive/export_store.h"
#include "base/log.h"
#include "station/export_names.h"
#include "station/exports.h"

namespace rookery::station {

inline constexpr std::chrono::hours kExportLife{24};  // from when it was asked for

inline bool is_finished(const ExportView& view) {
  return view.state != ExportState::waiting && view.state != ExportState::working;
}

struct Exports::Impl {
  struct Job {
    ExportView view;
    base::MonoTime made;
    std::uint64_t turn = 0;  // grows from one to the next
    std::atomic<bool> cancel{false};
    Job(ExportView view_, base::MonoTime made_) : view(std::move(view_)), made(made_) {}
  };

  archive::Catalog& catalog;
  archive::ExportStore store;
  const base::Clock& clock;
  const ExportLimits limits;
  archive::Disk& disk;
  std::filesystem::path folder;
  mutable std::mutex mutex;  // guards jobs' views, waiting
  std::condition_variable wake;
  std::map<std::string, std::shared_ptr<Job>> jobs;
  std::deque<std::shared_ptr<Job>> waiting;
  std::uint64_t turns = 0;
  std::atomic<bool> stopping{false};
  std::thread thread;

  Impl(archive::Catalog& catalog_, const base::Clock& clock_, ExportLimits limits_, archive::Disk& disk_);
  ~Impl();

  void take_up(const archive::StoredExport& stored);
  void remove_strays() const;
  base::Result<std::shared_ptr<Job>> reserve(ExportView view);
  base::Result<ExportView> start(ExportView view);

  void work_off();
  void run(Job& job);
  base::Result<archive::ExportResult> write(Job& job, const std::filesystem::path& file,
                                            std::optional<base::Error>& too_much);
  base::Result<archive::ExportResult> film(Job& job, const std::filesystem::path& file,
                                           const std::function<bool(double)>& progress);
  std::uint64_t estimate(const ExportView& view) const;
  void settle(Job& job, const std::filesystem::path& file, const base::Result<archive::ExportResult>& result);

  std::uint64_t bytes_of_finished() const;
  std::uint64_t bytes_in_folder() const;
  std::optional<base::Error> fit(std::uint64_t needed);
  bool drop_oldest_finished(std::optional<std::int64_t> person = std::nullopt);
  void expire();
  std::optional<base::Error> hopeless(const ExportView& view) const;

  std::filesystem::path file_of(const ExportView& view) const {
    return folder / fmt::format("{}.{}", view.id, ending_of(view));
  }

  static void note(const base::Result<void>& stored) {
    if (!stored) base::log_warning("exports", "{}", stored.error().text());
  }

  // Of one person. Called with the mutex held.
  std::size_t count(std::int64_t person, bool (*which)(const ExportView&)) const {
    return static_cast<std::size_t>(std::count_if(jobs.begin(), jobs.end(), [&](const auto& entry) {
      return entry.second->view.person == person && which(entry.second->view);
    }));
  }
};

}  // namespace rookery::station
