#include "station/films.h"

#include <atomic>
#include <charconv>
#include <condition_variable>
#include <mutex>
#include <set>
#include <thread>

#include <sys/resource.h>
#include <unistd.h>

#include "archive/lapse.h"
#include "archive/recorded_pictures.h"
#include "base/log.h"

namespace rookery::station {
namespace {

using archive::FilmState;
using archive::Job;
using archive::JobFilm;
using base::Result;

constexpr int kNiceness = 15;  // of 19: pictures that come and viewers go first

std::string remark_of(const archive::LapseResult& result) {
  if (result.frames < result.wanted)
    return fmt::format("shorter than wanted: {} of {} pictures", result.frames, result.wanted);
  return result.remark;
}

}  // namespace

struct Films::Impl {
  archive::Catalog& catalog;
  archive::FilmStore films;
  archive::JobStore jobs;
  const base::Clock& clock;
  const archive::Retention& retention;
  const FilmLimits limits;
  archive::Disk& disk;
  const std::filesystem::path folder;

  mutable std::mutex mutex;
  std::condition_variable_any woken;
  bool is_woken = false;
  std::optional<std::pair<std::int64_t, double>> under_way;  // job, progress
  bool told_full = false;                                    // the thread's own
  std::jthread thread;

  Impl(archive::Catalog& catalog_, const base::Clock& clock_, const archive::Retention& retention_,
       FilmLimits limits_, archive::Disk& disk_)
      : catalog(catalog_),
        films(catalog_),
        jobs(catalog_),
        clock(clock_),
        retention(retention_),
        limits(limits_),
        disk(disk_),
        folder(archive::film_file(catalog_.home(), 0).parent_path()) {}

  void run(const std::stop_token& stop) {
    ::setpriority(PRIO_PROCESS, static_cast<id_t>(::gettid()), kNiceness);
    while (!stop.stop_requested()) {
      try {
        tidy();
        while (!stop.stop_requested() && make_one(stop)) {
        }
      } catch (const std::exception& failure) {
        set_progress(std::nullopt);  // it stays counted as begun: one that never fits into memory fails
        base::log_error("films", "{}", failure.what());
      }
      std::unique_lock lock(mutex);
      woken.wait_for(lock, stop, limits.look_every, [this] { return is_woken; });
      is_woken = false;
    }
  }

  // One that has ended the program again and again is not made any more.
  Result<archive::LapseResult> begin(const JobFilm& film, const std::stop_token& stop) {
    if (film.begun >= kMostBegun) {
      return base::Error(base::ErrorCode::unsupported, "film",
                         fmt::format("its making was begun {} times and broke off each time, as when the "
                                     "station ends or is killed meanwhile",
                                     film.begun),
                         "Want it anew, shorter, or make one of a part of the span; the system's log may say "
                         "what ended the station.");
    }
    auto job = jobs.find(film.job);
    return job ? make(*job, film, stop) : job.error();
  }

  // Whether there was one, and what became of it is stored.
  bool make_one(const std::stop_token& stop) {
    auto next = films.next_wanted();
    if (!next) {
      base::log_warning("films", "{}", next.error().text());
      return false;
    }
    if (!*next || !has_room()) return false;
    const JobFilm& film = **next;
    if (const auto begun = films.note_begun(film.job); !begun) {
      base::log_warning("films", "{}; the film of job {} waits", begun.error().text(), film.job);
      return false;
    }
    const Result<archive::LapseResult> made = begin(film, stop);
    set_progress(std::nullopt);
    if (!made && made.error().code == base::ErrorCode::cancelled) {
      films.put_back_later(film.job);
      return false;
    }
    if (!made && made.error().code == base::ErrorCode::disk_full) {
      films.put_back_later(film.job);
      base::log_warning("films", "{}; the film of job {} waits", made.error().text(), film.job);
      return false;
    }
    const Result<void> noted = made ? films.note_made(film.job, made->bytes, remark_of(*made), clock.wall())
                                    : films.note_failed(film.job, made.error().text());
    const bool forgotten = !noted && noted.error().code == base::ErrorCode::not_found;
    // A file that could not be noted is made anew: it must not pile up among those set aside.
    if (forgotten || (!noted && !film.made)) {
      std::error_code ignored;
      std::filesystem::remove(archive::film_file(catalog.home(), film.job), ignored);
    }
    if (!noted) films.put_back_later(film.job);
    if (!noted) base::log_warning("films", "{}", noted.error().text());
    if (!made) base::log_warning("films", "job {}: {}", film.job, made.error().text());
    return noted.has_value() || forgotten;
  }

  Result<archive::LapseResult> make(const Job& job, const JobFilm& film, const std::stop_token& stop) {
    std::error_code failed;
    std::filesystem::create_directories(folder, failed);  // make_lapse says when there is none
    std::filesystem::permissions(folder, std::filesystem::perms::owner_all, failed);
    const base::WallTime end = job.end.value_or(clock.wall());
    auto track = archive::fuller_track(catalog, job.camera, job.start, end);
    if (!track) return std::move(track).error();
    archive::LapseRequest request;
    request.what = job.label.empty() ? job.camera.text() : job.label;
    request.length_s = film.length_s;
    request.existing = archive::Existing::replace;
    return archive::make_lapse(
        [&]() -> Result<std::unique_ptr<archive::PictureSource>> {
          return std::unique_ptr<archive::PictureSource>(std::make_unique<archive::RecordedPictures>(
              catalog, job.camera, job.start, std::max(end, job.start + base::Milliseconds{1}), *track));
        },
        request, archive::film_file(catalog.home(), job.id),
        [&](double share) {
          set_progress(std::pair{job.id, share});
          return !stop.stop_requested();
        });
  }

  void set_progress(std::optional<std::pair<std::int64_t, double>> now) {
    const std::lock_guard lock(mutex);
    under_way = now;
  }

  bool has_room() {
    const auto space = disk.space(catalog.home());
    // As retention counts it: half of a small disk is all that is kept free there.
    const bool full =
        space && space->free_bytes < std::min(limits.keep_free_bytes, space->total_bytes / 2) / 2;
    if (full && !told_full) base::log_warning("films", "too little of the disk is free: films wait");
    told_full = full;
    return !full;
  }

  // Films that are too old go. A file that the catalog does not know as a job's film is not known to be
  // unwanted (the catalog may have been lost): it makes room for that of a new job of its number, and stays.
  void tidy() {
    auto all = films.all();
    if (!all) return base::log_warning("films", "{}", all.error().text());
    std::set<std::int64_t> there;
    for (const JobFilm& film : *all) {
      if (film.made) there.insert(film.job);
      if (is_too_old(film)) remove_old(film.job);
    }
    std::error_code failed;
    for (const auto& entry : std::filesystem::directory_iterator(folder, failed)) {
      const std::string name = entry.path().filename().string();
      std::int64_t job = 0;
      const auto [end, error] = std::from_chars(name.data(), name.data() + name.size(), job);
      const bool ours = error == std::errc{} && std::string_view(end) == ".mp4";
      if (ours && !there.contains(job)) set_aside(entry.path());
      if (!name.starts_with('.')) continue;
      // What a kill left half written (archive::WholeFile).
      std::error_code ignored;
      std::filesystem::remove(entry.path(), ignored);
      base::log_info("films", "removed {}: it was half written", name);
    }
  }

  // The file first: what is left of a kill between the two is put right by the next round.
  void remove_old(std::int64_t job) {
    std::error_code failed;
    std::filesystem::remove(archive::film_file(catalog.home(), job), failed);
    if (failed) return base::log_warning("films", "the film of job {}: {}", job, failed.message());
    if (const auto forgotten = films.forget(job); !forgotten)
      return base::log_warning("films", "{}", forgotten.error().text());
    base::log_info("films", "removed the film of job {}: it was too old", job);
  }

  void set_aside(const std::filesystem::path& file) {
    std::string time = base::to_rfc3339(clock.wall());
    std::erase(time, ':');
    const auto to = folder / "aside" / fmt::format("{}-{}.mp4", file.stem().string(), time);
    std::error_code failed;
    std::filesystem::create_directories(to.parent_path(), failed);
    if (!failed) std::filesystem::rename(file, to, failed);
    if (failed)
      return base::log_warning("films", "{} is of no known job: {}", file.string(), failed.message());
    base::log_warning("films", "{} is of no job that the catalog knows; set aside as {}", file.string(),
                      to.string());
  }

  // By the patient clock: one that runs ahead for a moment must not take every film.
  bool is_too_old(const JobFilm& film) {
    const auto age = retention.age();
    if (!age || !film.made || film.state == FilmState::wanted) return false;
    auto job = jobs.find(film.job);
    if (!job) return job.error().code == base::ErrorCode::not_found;
    if (job->good == true) return false;  // a person wants it
    auto settings = jobs.settings(job->camera);
    // Of a camera that is gone: as long as by default.
    const auto keep = settings ? settings->keep_stills : archive::JobSettings{}.keep_stills;
    return age->now() - *film.made > keep;
  }
};

Films::Films(archive::Catalog& catalog, const base::Clock& clock, const archive::Retention& retention,
             FilmLimits limits, archive::Disk& disk)
    : impl_(std::make_unique<Impl>(catalog, clock, retention, limits, disk)) {}

Films::~Films() { stop(); }

void Films::start() {
  if (impl_->thread.joinable()) return;
  impl_->thread = std::jthread([impl = impl_.get()](const std::stop_token& stop) { impl->run(stop); });
}

void Films::stop() {
  impl_->thread.request_stop();
  if (impl_->thread.joinable()) impl_->thread.join();
}

void Films::wake() {
  {
    const std::lock_guard lock(impl_->mutex);
    impl_->is_woken = true;
  }
  impl_->woken.notify_all();
}

std::optional<double> Films::progress(std::int64_t job) const {
  const std::lock_guard lock(impl_->mutex);
  if (!impl_->under_way || impl_->under_way->first != job) return std::nullopt;
  return impl_->under_way->second;
}

}  // namespace rookery::station
