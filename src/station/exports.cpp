#include "station/exports.h"

#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <thread>

#include <fmt/format.h>
#include <sodium.h>

#include "base/log.h"

namespace rookery::station {
namespace {

constexpr std::size_t kMostWaiting = 20;
constexpr std::chrono::hours kLife{24};
// Finished exports that are kept ready; another one takes the place of the oldest.
constexpr std::size_t kMostFinished = 8;

bool is_finished(const ExportView& view) {
  return view.state != ExportState::waiting && view.state != ExportState::working;
}

// 16 random bytes as hex: an export's address must not be guessable.
std::string new_id() {
  std::array<unsigned char, 16> random{};
  randombytes_buf(random.data(), random.size());
  std::string text;
  for (unsigned char byte : random) text += fmt::format("{:02x}", byte);
  return text;
}

// "anvil 2026-03-01 12.00.00Z.mkv": no colon, which some file systems refuse.
std::string offered_name(const archive::ExportRequest& request) {
  std::string time = base::to_rfc3339(request.from).substr(0, 19);
  time[10] = ' ';
  std::replace(time.begin(), time.end(), ':', '.');
  const bool mp4 = request.format == archive::ExportFormat::mp4;
  return fmt::format("{} {}Z.{}", request.camera.text(), time, mp4 ? "mp4" : "mkv");
}

}  // namespace

struct Exports::Impl {
  struct Job {
    ExportView view;
    base::MonoTime made;
    std::atomic<bool> cancel{false};
    Job(ExportView view_, base::MonoTime made_) : view(std::move(view_)), made(made_) {}
  };

  archive::Catalog& catalog;
  const base::Clock& clock;
  std::filesystem::path folder;
  mutable std::mutex mutex;  // guards jobs' views, waiting, stopping
  std::condition_variable wake;
  std::map<std::string, std::shared_ptr<Job>> jobs;
  std::deque<std::shared_ptr<Job>> waiting;
  bool stopping = false;
  std::thread thread;

  Impl(archive::Catalog& catalog_, const base::Clock& clock_)
      : catalog(catalog_), clock(clock_), folder(catalog_.home() / "exports") {
    std::error_code ignored;  // what is left over from an earlier run is nobody's any more
    std::filesystem::remove_all(folder, ignored);
    thread = std::thread([this] { work_off(); });
  }

  ~Impl() {
    {
      const std::lock_guard lock(mutex);
      stopping = true;
      for (auto& [id, job] : jobs) job->cancel = true;
    }
    wake.notify_all();
    thread.join();
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }

  std::size_t finished() const {
    return static_cast<std::size_t>(std::count_if(
        jobs.begin(), jobs.end(), [](const auto& entry) { return is_finished(entry.second->view); }));
  }

  void work_off() {
    for (;;) {
      std::shared_ptr<Job> job;
      {
        std::unique_lock lock(mutex);
        wake.wait(lock, [this] { return stopping || !waiting.empty(); });
        if (stopping) return;
        job = waiting.front();
        waiting.pop_front();
        if (job->cancel) continue;
        job->view.state = ExportState::working;
      }
      run(*job);
    }
  }

  void run(Job& job) {
    std::error_code made;
    std::filesystem::create_directories(folder, made);  // export_span reports it when this failed
    const std::string ending = job.view.request.format == archive::ExportFormat::mp4 ? ".mp4" : ".mkv";
    const std::filesystem::path file = folder / (job.view.id + ending);
    auto result = archive::export_span(catalog, job.view.request, file, [this, &job](double progress) {
      const std::lock_guard lock(mutex);
      job.view.progress = progress;
      return !job.cancel;
    });
    const std::lock_guard lock(mutex);
    if (job.cancel) {
      job.view.state = ExportState::cancelled;
      std::error_code ignored;
      std::filesystem::remove(file, ignored);
    } else if (result) {
      job.view.state = ExportState::done;
      job.view.progress = 1;
      job.view.result = *result;
      job.view.file = file;
    } else {
      job.view.state = ExportState::failed;
      job.view.error = result.error();
      base::log_warning("exports", "{}", result.error().text());
    }
  }

  // Removes what has been there for a day, and the oldest when many are finished: they take the recordings'
  // disk. Called with the mutex held.
  void expire() {
    const base::MonoTime now = clock.mono();
    while (finished() >= kMostFinished) {
      const auto oldest = std::min_element(jobs.begin(), jobs.end(), [](const auto& a, const auto& b) {
        return std::pair(!is_finished(a.second->view), a.second->made) <
               std::pair(!is_finished(b.second->view), b.second->made);
      });
      std::error_code ignored;
      std::filesystem::remove(oldest->second->view.file, ignored);
      jobs.erase(oldest);
    }
    std::erase_if(jobs, [&](auto& entry) {
      Job& job = *entry.second;
      if (!is_finished(job.view) || now - job.made < kLife) return false;
      std::error_code ignored;
      std::filesystem::remove(job.view.file, ignored);
      return true;
    });
  }
};

Exports::Exports(archive::Catalog& catalog, const base::Clock& clock)
    : impl_(std::make_unique<Impl>(catalog, clock)) {}
Exports::~Exports() = default;

base::Result<ExportView> Exports::start(std::int64_t person, archive::ExportRequest request) {
  const std::lock_guard lock(impl_->mutex);
  impl_->expire();
  if (impl_->waiting.size() >= kMostWaiting) {
    return base::Error(base::ErrorCode::busy, "export",
                       fmt::format("{} exports wait already", impl_->waiting.size()),
                       "Try again when one of them is done.");
  }
  ExportView view(new_id(), person, std::move(request));
  view.file_name = offered_name(view.request);
  auto job = std::make_shared<Impl::Job>(view, impl_->clock.mono());
  impl_->jobs.emplace(view.id, job);
  impl_->waiting.push_back(std::move(job));
  impl_->wake.notify_one();
  return view;
}

base::Result<ExportView> Exports::find(const std::string& id) const {
  const std::lock_guard lock(impl_->mutex);
  const auto it = impl_->jobs.find(id);
  if (it == impl_->jobs.end()) {
    return base::Error(base::ErrorCode::not_found, "export", "there is no such export",
                       "Exports are kept for a day and until the station stops; ask for it again.");
  }
  return it->second->view;
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
  impl_->jobs.erase(it);
  return base::ok();
}

}  // namespace rookery::station
