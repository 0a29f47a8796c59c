#include "station/exports.h"

#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <thread>

#include <sys/resource.h>
#include <unistd.h>

#include <fmt/format.h>
#include <sodium.h>

#include "archive/recorded_pictures.h"
#include "base/log.h"
#include "station/export_room.h"

namespace rookery::station {
namespace {

constexpr std::size_t kMostWaiting = 20;
constexpr std::chrono::hours kLife{24};
// Of one person, so that nobody takes another's place: exports that wait, and finished ones that are kept
// ready (another one takes the place of the oldest).
constexpr std::size_t kMostWaitingEach = 5;
constexpr std::size_t kMostFinishedEach = 8;
// After so many frames the file under way is measured again: at most a few MB too much.
constexpr int kMeasureEvery = 16;
constexpr int kNiceness = 15;  // of 19: pictures that come and viewers go first

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
std::string_view ending_of(const ExportView& view) {
  if (view.lapse) return archive::name_of(view.lapse->format);
  return view.request.format == archive::ExportFormat::mp4 ? "mp4" : "mkv";
}

std::string offered_name(const ExportView& view) {
  std::string time = base::to_rfc3339(view.request.from).substr(0, 19);
  time[10] = ' ';
  std::replace(time.begin(), time.end(), ':', '.');
  return fmt::format("{} {}Z{}.{}", view.request.camera.text(), time, view.lapse ? " lapse" : "",
                     ending_of(view));
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
  const ExportLimits limits;
  archive::Disk& disk;
  std::filesystem::path folder;
  mutable std::mutex mutex;  // guards jobs' views, waiting, stopping
  std::condition_variable wake;
  std::map<std::string, std::shared_ptr<Job>> jobs;
  std::deque<std::shared_ptr<Job>> waiting;
  bool stopping = false;
  std::thread thread;

  Impl(archive::Catalog& catalog_, const base::Clock& clock_, ExportLimits limits_, archive::Disk& disk_)
      : catalog(catalog_), clock(clock_), limits(limits_), disk(disk_), folder(catalog_.home() / "exports") {
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

  // Of one person. Called with the mutex held.
  std::size_t count(std::int64_t person, bool (*which)(const ExportView&)) const {
    return static_cast<std::size_t>(std::count_if(jobs.begin(), jobs.end(), [&](const auto& entry) {
      return entry.second->view.person == person && which(entry.second->view);
    }));
  }

  void work_off() {
    // Linux gives each thread a niceness of its own, and the encoder's threads inherit it.
    ::setpriority(PRIO_PROCESS, static_cast<id_t>(::gettid()), kNiceness);
    for (;;) {
      std::shared_ptr<Job> job;
      {
        std::unique_lock lock(mutex);
        const bool work =
            wake.wait_for(lock, limits.look_every, [this] { return stopping || !waiting.empty(); });
        if (stopping) return;
        expire();
        if (!work) continue;
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
    const std::filesystem::path file = folder / fmt::format("{}.{}", job.view.id, ending_of(job.view));
    std::optional<base::Error> too_much = fit(estimate(job.view));
    base::Result<archive::ExportResult> result =
        too_much ? base::Result<archive::ExportResult>(*too_much) : write(job, file, too_much);
    if (result && !too_much) too_much = fit(0);  // measured once more, now that it is whole
    settle(job, file, too_much ? base::Result<archive::ExportResult>(*too_much) : result);
  }

  // Stops the export when it grows beyond its room, and then says so in `too_much`.
  base::Result<archive::ExportResult> write(Job& job, const std::filesystem::path& file,
                                            std::optional<base::Error>& too_much) {
    int frames = 0;
    const auto progress = [&](double share) {
      if (++frames % kMeasureEvery == 0 && !too_much) too_much = fit(0);
      const std::lock_guard lock(mutex);
      job.view.progress = share;
      return !job.cancel && !too_much;
    };
    if (job.view.lapse) return film(job, file, progress);
    return archive::export_span(catalog, job.view.request, file, progress);
  }

  base::Result<archive::ExportResult> film(Job& job, const std::filesystem::path& file,
                                           const std::function<bool(double)>& progress) {
    const archive::ExportRequest& span = job.view.request;
    auto made = archive::make_lapse(
        [&]() -> base::Result<std::unique_ptr<archive::PictureSource>> {
          auto track = archive::fuller_track(catalog, span.camera, span.from, span.to);
          if (!track) return std::move(track).error();
          return std::unique_ptr<archive::PictureSource>(
              std::make_unique<archive::RecordedPictures>(catalog, span.camera, span.from, span.to, *track));
        },
        *job.view.lapse, file, progress);
    if (!made) return std::move(made).error();
    archive::ExportResult result;
    result.frames = static_cast<std::uint64_t>(made->frames);
    result.bytes = made->bytes;
    result.first = made->first_at.value_or(span.from) + made->first;
    result.last = made->first_at.value_or(span.from) + made->last;
    const std::lock_guard lock(mutex);
    job.view.lapse_result = std::move(*made);
    return result;
  }

  // Nobody knows before how large an encoded film will be.
  std::uint64_t estimate(const ExportView& view) const {
    return view.lapse ? 0 : estimate_bytes(catalog, view.request);
  }

  void settle(Job& job, const std::filesystem::path& file,
              const base::Result<archive::ExportResult>& result) {
    const std::lock_guard lock(mutex);
    std::error_code ignored;
    if (job.cancel) {
      job.view.state = ExportState::cancelled;
      std::filesystem::remove(file, ignored);
    } else if (result) {
      job.view.state = ExportState::done;
      job.view.progress = 1;
      job.view.result = *result;
      job.view.file = file;
    } else {
      job.view.state = ExportState::failed;
      job.view.error = result.error();
      std::filesystem::remove(file, ignored);
      base::log_warning("exports", "{}", result.error().text());
    }
  }

  // What lies in the folder: the finished ones as the jobs know them, and the one under way.
  std::uint64_t bytes_of_finished() const {
    std::uint64_t bytes = 0;
    for (const auto& [id, job] : jobs)
      if (job->view.result) bytes += job->view.result->bytes;
    return bytes;
  }
  std::uint64_t bytes_in_folder() const {
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
  std::optional<base::Error> fit(std::uint64_t needed) {
    const std::lock_guard lock(mutex);
    for (;;) {
      const std::uint64_t finished_bytes = bytes_of_finished();
      const std::uint64_t all = bytes_in_folder();
      const std::uint64_t already = all - std::min(all, finished_bytes);
      auto space = disk.space(catalog.home());
      if (!space) return space.error();
      const ExportRoom room = export_room(limits, *space, finished_bytes, already);
      if (std::max(needed, already) <= room.most()) return std::nullopt;
      if (!drop_oldest_finished()) return no_room(room, limits, std::max(needed, already));
    }
  }

  // Of everybody's, or of one person's. Called with the mutex held. False when none is finished.
  bool drop_oldest_finished(std::optional<std::int64_t> person = std::nullopt) {
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
    jobs.erase(oldest);
    return true;
  }

  // Removes what has been there for a day. Called with the mutex held.
  void expire() {
    const base::MonoTime now = clock.mono();
    std::erase_if(jobs, [&](auto& entry) {
      Job& job = *entry.second;
      if (!is_finished(job.view) || now - job.made < kLife) return false;
      std::error_code ignored;
      std::filesystem::remove(job.view.file, ignored);
      return true;
    });
  }

  // Why a request can never fit, were all finished ones gone. Called with the mutex held.
  std::optional<base::Error> hopeless(const ExportView& view) const {
    auto space = disk.space(catalog.home());
    if (!space) return std::nullopt;  // what is wrong shows when it is written
    space->free_bytes += bytes_of_finished();
    const ExportRoom room = export_room(limits, *space, 0, 0);
    const std::uint64_t needed = std::max<std::uint64_t>(estimate(view), 1);
    if (needed <= room.most()) return std::nullopt;
    return no_room(room, limits, needed);
  }

  base::Result<ExportView> start(ExportView view) {
    const std::lock_guard lock(mutex);
    const std::int64_t person = view.person;
    const std::size_t own =
        count(person, [](const ExportView& view) { return view.state == ExportState::waiting; });
    if (own >= kMostWaitingEach) {
      return base::Error(base::ErrorCode::busy, "export", fmt::format("{} of your exports wait already", own),
                         "Try again when one of them is done.");
    }
    if (waiting.size() >= kMostWaiting) {
      return base::Error(base::ErrorCode::busy, "export",
                         fmt::format("{} exports wait already", waiting.size()),
                         "Try again when one of them is done.");
    }
    if (auto never = hopeless(view)) return *std::move(never);
    while (count(person, is_finished) >= kMostFinishedEach && drop_oldest_finished(person)) {
    }
    view.file_name = offered_name(view);
    auto job = std::make_shared<Job>(view, clock.mono());
    jobs.emplace(view.id, job);
    waiting.push_back(std::move(job));
    wake.notify_one();
    return view;
  }
};

Exports::Exports(archive::Catalog& catalog, const base::Clock& clock, ExportLimits limits,
                 archive::Disk& disk)
    : impl_(std::make_unique<Impl>(catalog, clock, limits, disk)) {}
Exports::~Exports() = default;

base::Result<ExportView> Exports::start(std::int64_t person, archive::ExportRequest request) {
  return impl_->start(ExportView(new_id(), person, std::move(request)));
}

base::Result<ExportView> Exports::start_lapse(std::int64_t person, archive::ExportRequest span,
                                              archive::LapseRequest lapse) {
  ExportView view(new_id(), person, std::move(span));
  view.lapse = std::move(lapse);
  return impl_->start(std::move(view));
}

base::Result<ExportView> Exports::find(const std::string& id) const {
  const std::lock_guard lock(impl_->mutex);
  const auto it = impl_->jobs.find(id);
  if (it == impl_->jobs.end()) {
    return base::Error(
        base::ErrorCode::not_found, "export", "there is no such export",
        "Exports are kept for a day, until newer ones need their room, and until the station stops; "
        "ask for it again.");
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

std::uint64_t Exports::bytes() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->bytes_in_folder();
}

const ExportLimits& Exports::limits() const& { return impl_->limits; }

}  // namespace rookery::station
