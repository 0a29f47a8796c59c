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

RecordedPictures::RecordedPictures(Catalog& catalog, base::CameraName camera, WallTime from, WallTime to)
    : catalog_(catalog),
      camera_(std::move(camera)),
      from_(from),
      to_(to),
      playback_(catalog, camera_),
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
