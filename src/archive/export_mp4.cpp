// Export as H.264 in MP4: constant frame rate, so that editors and slides take it; long pauses cut.
#include "archive/export_writer.h"
#include "archive/film_writer.h"
#include "archive/picture_fitter.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

constexpr std::chrono::seconds kLongestHold{1};

class Mp4Export final : public ExportWriter {
 public:
  Mp4Export(const base::CameraName& camera, int frames_per_s, ExportResult& result)
      : camera_(camera), frames_per_s_(frames_per_s), result_(result) {}

  base::Result<void> begin(const std::filesystem::path& file, const RecordedFrame& first);
  base::Result<void> add(const RecordedFrame& frame) override;
  base::Result<void> finish() override;

 private:
  base::Result<void> show_shown_until(std::int64_t slot);

  const base::CameraName camera_;
  const int frames_per_s_;
  ExportResult& result_;
  PictureFitter fitter_;
  std::optional<FilmWriter> film_;
  std::optional<RecordedFrame> shown_;  // the frame that fills the slots until the next one comes
  base::Microseconds film_time_{0};     // when it is shown, in the film
};

base::Result<void> Mp4Export::begin(const std::filesystem::path& file, const RecordedFrame& first) {
  auto size = size_of(first);
  if (!size) return std::move(size).error();
  // yuv420p has one colour sample for two by two pixels.
  const camera::PixelSize even{std::max(2, size->width_px & ~1), std::max(2, size->height_px & ~1)};
  if (auto begun = fitter_.begin(*size, even); !begun) return begun;
  film_.emplace(
      FilmShape(FilmFormat::mp4, even, frames_per_s_, camera_.text(), first.at, camera_.text() + ": export"));
  return film_->begin(file);
}

base::Result<void> Mp4Export::add(const RecordedFrame& frame) {
  if (shown_) {
    auto passed = frame.at - shown_->at;
    if (passed > kLongestHold) {
      ++result_.gaps_cut;
      result_.cut_time += std::chrono::floor<base::Milliseconds>(passed - kLongestHold);
      passed = kLongestHold;
    }
    film_time_ += passed;
    // Rounded to the nearest slot.
    const std::int64_t slot = (film_time_.count() * frames_per_s_ + 500'000) / 1'000'000;
    if (auto done = show_shown_until(slot); !done) return done;
  }
  shown_ = frame;
  return base::ok();
}

// Fills the slots before `slot`. A frame that gets none is dropped without having been decoded.
base::Result<void> Mp4Export::show_shown_until(std::int64_t slot) {
  if (film_->pictures() >= slot) return base::ok();
  auto picture = fitter_.fit(*shown_);
  if (!picture) return std::move(picture).error();
  if (picture->resized) ++result_.resized;
  while (film_->pictures() < slot) {
    if (auto done = film_->add(*picture->frame); !done) return done;
  }
  return base::ok();
}

base::Result<void> Mp4Export::finish() {
  // The last frame gets its slot, even where rounding had left it none.
  if (auto done = show_shown_until(film_->pictures() + 1); !done) return done;
  if (auto done = film_->finish(); !done) return done;
  if (result_.gaps_cut > 0) {
    base::log_info(camera_.text(), "export: {} pauses longer than 1 s cut, {:.1f} s in all", result_.gaps_cut,
                   static_cast<double>(result_.cut_time.count()) / 1e3);
  }
  return base::ok();
}

}  // namespace

base::Result<std::unique_ptr<ExportWriter>> begin_mp4_export(const std::filesystem::path& file,
                                                             const base::CameraName& camera,
                                                             const RecordedFrame& first, int frames_per_s,
                                                             ExportResult& result) {
  auto writer = std::make_unique<Mp4Export>(camera, frames_per_s, result);
  if (auto begun = writer->begin(file, first); !begun) return std::move(begun).error();
  return std::unique_ptr<ExportWriter>(std::move(writer));
}

}  // namespace rookery::archive
