// Exports: the thread that makes them, one after another.
#include <sys/resource.h>
#include <unistd.h>

#include "archive/recorded_pictures.h"
#include "station/export_room.h"
#include "station/exports_impl.h"

namespace rookery::station {
namespace {

// After so many frames the file under way is measured again: at most a few MB too much.
constexpr int kMeasureEvery = 16;
constexpr int kNiceness = 15;  // of 19: pictures that come and viewers go first

}  // namespace

void Exports::Impl::work_off() {
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

void Exports::Impl::run(Job& job) {
  std::error_code made;
  std::filesystem::create_directories(folder, made);  // export_span reports it when this failed
  const std::filesystem::path file = file_of(job.view);
  note(store.note_begun(job.view.id));
  std::optional<base::Error> too_much = fit(estimate(job.view));
  base::Result<archive::ExportResult> result =
      too_much ? base::Result<archive::ExportResult>(*too_much) : write(job, file, too_much);
  if (result && !too_much) too_much = fit(0);  // measured once more, now that it is whole
  settle(job, file, too_much ? base::Result<archive::ExportResult>(*too_much) : result);
}

// Stops the export when it grows beyond its room, and then says so in `too_much`.
base::Result<archive::ExportResult> Exports::Impl::write(Job& job, const std::filesystem::path& file,
                                                         std::optional<base::Error>& too_much) {
  int frames = 0;
  const auto progress = [&](double share) {
    if (++frames % kMeasureEvery == 0 && !too_much) too_much = fit(0);
    const std::lock_guard lock(mutex);
    job.view.progress = share;
    return !job.cancel && !stopping && !too_much;
  };
  if (job.view.lapse) return film(job, file, progress);
  return archive::export_span(catalog, job.view.request, file, progress);
}

base::Result<archive::ExportResult> Exports::Impl::film(Job& job, const std::filesystem::path& file,
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
std::uint64_t Exports::Impl::estimate(const ExportView& view) const {
  return view.lapse ? 0 : estimate_bytes(catalog, view.request);
}

void Exports::Impl::settle(Job& job, const std::filesystem::path& file,
                           const base::Result<archive::ExportResult>& result) {
  std::error_code ignored;
  if (!result || job.cancel) std::filesystem::remove(file, ignored);
  // Stored before it is said, so that what was said holds after a restart; not with the mutex held.
  const bool left_alone = !result && stopping && result.error().code == base::ErrorCode::cancelled;
  if (left_alone) return note(store.put_back(job.view.id));
  if (!job.cancel)
    note(result ? store.note_made(job.view.id, *result, job.view.lapse_result)
                : store.note_failed(job.view.id, result.error()));
  const std::lock_guard lock(mutex);
  if (job.cancel) {  // also while it was being stored
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
    base::log_warning("exports", "{}", result.error().text());
  }
}

}  // namespace rookery::station
