#include "archive/recorded_pictures.h"

#include "archive/segment_store.h"

namespace rookery::archive {

using base::WallTime;

base::Error nothing_recorded(Catalog& catalog, const base::CameraName& camera, WallTime from, WallTime to,
                             std::string where) {
  const SegmentStore store{catalog};
  std::vector<std::string> near;
  auto before = store.last_until(camera, from);
  if (before && *before) near.push_back("the last before ends at " + base::to_rfc3339((**before).end));
  auto after = store.first_from(camera, to);
  if (after && *after) near.push_back("the next begins at " + base::to_rfc3339((**after).start));
  return {base::ErrorCode::not_found, std::move(where),
          fmt::format("nothing is recorded from {} to {}", base::to_rfc3339(from), base::to_rfc3339(to)),
          near.empty() ? "this camera has no recordings" : fmt::format("{}", fmt::join(near, "; "))};
}

namespace {

// Stills are this far apart at the most (JobSettings::still_every).
constexpr std::chrono::minutes kStillsApart{10};
constexpr std::chrono::minutes kRecordedApart{1};

base::Result<base::Microseconds> covered(const SegmentStore& store, const base::CameraName& camera,
                                         WallTime from, WallTime to, base::Milliseconds apart) {
  auto spans = store.spans(camera, from, to, apart);
  if (!spans) return std::move(spans).error();
  base::Microseconds sum{0};
  for (const Span& span : *spans) sum += span.to - span.from;
  return sum;
}

}  // namespace

base::Result<Track> fuller_track(Catalog& catalog, const base::CameraName& camera, WallTime from,
                                 WallTime to) {
  auto recorded = covered(SegmentStore(catalog), camera, from, to, kRecordedApart);
  if (!recorded) return std::move(recorded).error();
  auto stills = covered(SegmentStore(catalog, Track::stills), camera, from, to, kStillsApart);
  if (!stills) return std::move(stills).error();
  // Pictures that come faster are worth a little less of the span.
  return *recorded * 10 >= *stills * 9 ? Track::recording : Track::stills;
}

RecordedPictures::RecordedPictures(Catalog& catalog, base::CameraName camera, WallTime from, WallTime to,
                                   Track track)
    : catalog_(catalog),
      camera_(std::move(camera)),
      from_(from),
      to_(to),
      playback_(catalog, camera_, track),
      at_(from) {}

base::Result<std::optional<WallTime>> RecordedPictures::next_in_span() {
  auto time = first_ ? playback_.step() : playback_.place_at(from_);
  while (time && *time && **time < from_) time = playback_.step();  // also where the clock was set back
  if (time && *time && **time > to_) return std::optional<WallTime>{};
  return time;
}

base::Result<std::optional<base::Microseconds>> RecordedPictures::step() {
  auto time = next_in_span();
  if (!time) return std::move(time).error();
  if (!*time) {
    if (first_) return std::optional<base::Microseconds>{};
    return nothing_recorded(catalog_, camera_, from_, to_, camera_.text());
  }
  at_ = **time;
  if (!first_) first_ = at_;
  return std::optional{at_ - *first_};
}

base::Result<std::span<const std::byte>> RecordedPictures::read() & {
  auto frame = playback_.read();
  if (!frame) return std::move(frame).error();
  bytes_ = std::move(*frame).bytes;
  return std::span<const std::byte>(bytes_);
}

double RecordedPictures::passed() const {
  return std::clamp(static_cast<double>((at_ - from_).count()) /
                        static_cast<double>(std::max<std::int64_t>((to_ - from_).count(), 1)),
                    0.0, 1.0);
}

}  // namespace rookery::archive
