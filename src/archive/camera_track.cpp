#include "archive/camera_track.h"

#include "archive/mend.h"
#include "archive/segment_path.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

constexpr std::chrono::seconds kTellEvery{2};
constexpr std::chrono::minutes kStillsGap{30};
// So many segments of one camera begin in one millisecond only if something is wrong.
constexpr int kMostSameNames = 1000;

}  // namespace

CameraTrack::CameraTrack(const base::CameraName& camera, Track track, TrackPlace& place)
    : camera_(camera), track_(track), place_(place), segment_(camera) {}

CameraTrack::~CameraTrack() { close(); }

base::Result<void> CameraTrack::write(const camera::Frame& frame) {
  if (writer_ && !writer_->pending()) {
    const Cut cut = cut_before(so_far_, frame, place_.length_of(track_), gap_limit());
    if (cut == Cut::clock_set) {
      base::log_warning(camera_.text(), "the clock was set to {}; recording goes on in a new segment",
                        base::to_rfc3339(frame.arrived));
    }
    if (cut != Cut::none) close();
  }
  if (writer_ && writer_->pending()) {
    if (auto done = writer_->retry(); !done) return done;
  } else {
    if (!writer_) {
      if (auto begun = begin(frame); !begun) return begun;
    }
    last_at_ = std::max(last_at_ + base::Milliseconds{1}, time_of(frame));
    if (auto done = writer_->add(last_at_, frame.view()); !done) return done;
  }
  wrote(frame);
  return base::ok();
}

base::Result<void> CameraTrack::begin(const camera::Frame& frame) {
  const auto date = std::chrono::floor<base::Milliseconds>(frame.arrived);
  for (int attempt = 0; attempt < kMostSameNames; ++attempt) {
    Segment segment{camera_};
    segment.path = segment_path(camera_, date, attempt, track_);
    auto file = place_.disk.create(place_.archive / segment.path);
    if (!file && file.error().code == base::ErrorCode::already_exists) continue;
    if (!file) return std::move(file).error();
    auto writer = MatroskaWriter::begin(std::shared_ptr<DiskFile>(std::move(file).value()),
                                        {camera_.text(), date, frame.size});
    if (!writer) {
      (void)place_.disk.remove(place_.archive / segment.path);
      return std::move(writer).error();
    }
    writer_ = std::move(writer).value();
    segment.start = segment.end = date;
    segment.open = true;
    segment_ = std::move(segment);
    so_far_ = {frame.arrived, frame.arrived_mono, frame.arrived_mono, frame.size};
    last_at_ = base::Milliseconds{-1};
    return base::ok();
  }
  return base::Error{
      base::ErrorCode::already_exists, camera_.text() + ": begin segment",
      fmt::format("{} segments are named {} already", kMostSameNames, segment_path(camera_, date, 0, track_)),
      "set the computer's clock"};
}

// Measured on the monotonic clock, so that a clock that is being slewed does not make frames jump. Whole
// milliseconds of the wall clock: frame 0 began at a fraction that counts as well.
base::Milliseconds CameraTrack::time_of(const camera::Frame& frame) const {
  const auto passed = std::chrono::duration_cast<base::Microseconds>(frame.arrived_mono - so_far_.first_mono);
  return std::chrono::floor<base::Milliseconds>(so_far_.first_wall + passed) -
         std::chrono::floor<base::Milliseconds>(so_far_.first_wall);
}

void CameraTrack::wrote(const camera::Frame& frame) {
  if (last_mono_) {
    // A gap is no interval: it would make longer gaps usual.
    const auto interval = std::chrono::duration_cast<base::Microseconds>(frame.arrived_mono - *last_mono_);
    if (interval <= gap_limit()) usual_.add(interval);
  }
  last_mono_ = so_far_.last_mono = frame.arrived_mono;
  segment_.end = segment_.start + last_at_;
  segment_.frames = writer_->frames();
  segment_.bytes = writer_->bytes();
  place_.unsynced.files.insert(writer_->file());
  if (segment_.frames == 1) {
    place_.unsynced.folders.insert((place_.archive / segment_.path).parent_path());
    tell_catalog();
    told_ = place_.clock.mono();
  }
}

// Between two stills of a job there may be minutes; a file for each would help nobody.
base::Microseconds CameraTrack::gap_limit() const {
  return track_ == Track::stills ? kStillsGap : usual_.gap_limit();
}

void CameraTrack::close() {
  if (!writer_) return;
  if (writer_->pending() || writer_->frames() == 0) return give_up();
  auto done = writer_->finish();
  if (!done && done.error().code == base::ErrorCode::disk_full) {
    place_.make_room();
    done = writer_->retry();
  }
  if (!done) {
    base::log_warning(camera_.text(), "{}: the index could not be written: {}", segment_.path,
                      done.error().text());
  }
  leave(done.has_value());
}

void CameraTrack::give_up() {
  if (writer_) leave(false);
}

void CameraTrack::leave(bool finished) {
  const auto path = place_.archive / segment_.path;
  bool whole = true;
  if (!finished) {
    (void)writer_->abandon();
    if (writer_->frames() == 0) {
      (void)place_.disk.remove(path);
    } else if (auto mended = mend_file(path, MendLock::held); !mended) {
      // The next start tries again: the entry stays open.
      base::log_error(camera_.text(), "{}", mended.error().text());
      whole = false;
    }
  }
  if (writer_->frames() > 0) {
    segment_.bytes = writer_->bytes();
    segment_.open = false;
    place_.unsynced.files.insert(writer_->file());
    if (whole) place_.unsynced.closed.push_back({segment_, writer_->file()});
  }
  writer_.reset();
}

void CameraTrack::tick(base::WallTime wall, base::MonoTime mono, bool idle) {
  if (idle && writer_ && writer_->frames() > 0 && !writer_->pending() &&
      cut_while_idle(so_far_, wall, mono, place_.length_of(track_), gap_limit()) != Cut::none) {
    close();
  }
  if (mono - told_ < kTellEvery) return;
  told_ = mono;
  tell_catalog();
}

void CameraTrack::tell_catalog() {
  if (writer_ && writer_->frames() > 0) SegmentStore{place_.catalog}.note_later(segment_);
}

}  // namespace rookery::archive
