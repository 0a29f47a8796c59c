// RecordedPictures: a span of a camera's recording, picture by picture.
#pragma once

#include "archive/picture_source.h"
#include "archive/playback.h"

namespace rookery::archive {

// The error for a span in which nothing is recorded: not_found, with the nearest recordings.
base::Error nothing_recorded(Catalog& catalog, const base::CameraName& camera, base::WallTime from,
                             base::WallTime to, std::string where);

// The track that has more of the span: the recording, unless a job's stills cover more than it does.
base::Result<Track> fuller_track(Catalog& catalog, const base::CameraName& camera, base::WallTime from,
                                 base::WallTime to);

class RecordedPictures final : public PictureSource {
 public:
  // Both ends belong to the span; `from` is before `to`.
  RecordedPictures(Catalog& catalog, base::CameraName camera, base::WallTime from, base::WallTime to,
                   Track track = Track::recording);

  base::Result<std::optional<base::Microseconds>> step() override;
  base::Result<std::span<const std::byte>> read() & override;
  double passed() const override;
  std::optional<base::WallTime> first_at() const override { return first_; }

  // The first picture's; the times of step() count from it. Before the first step(): `from`.
  base::WallTime first() const { return first_.value_or(from_); }

 private:
  base::Result<std::optional<base::WallTime>> next_in_span();

  Catalog& catalog_;
  const base::CameraName camera_;
  const base::WallTime from_;
  const base::WallTime to_;
  Playback playback_;
  std::optional<base::WallTime> first_;
  base::WallTime at_;
  std::vector<std::byte> bytes_;
};

}  // namespace rookery::archive
