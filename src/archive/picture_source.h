// PictureSource: JPEG pictures one after the other with their times, wherever they lie: in a camera's
// recording (recorded_pictures.h) or in a film from elsewhere (film_reader.h).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>

#include "base/result.h"
#include "base/time.h"

namespace rookery::archive {

// One user at a time; reads files.
class PictureSource {
 public:
  virtual ~PictureSource() = default;

  // Moves on to the next picture. Returns its time since the source's first one; null at the end. Times may
  // go back where a clock was set back. Errors: not_found when there is no picture at all, saying what there
  // is instead; those of the place where it lies.
  virtual base::Result<std::optional<base::Microseconds>> step() = 0;
  // The picture that step() moved to, valid until the next step(). Errors: io, damaged; one may step on.
  virtual base::Result<std::span<const std::byte>> read() & = 0;

  // When the first picture was taken; nothing where nobody knows. After the first step().
  virtual std::optional<base::WallTime> first_at() const { return {}; }
  // How much lies behind, 0–1, roughly.
  virtual double passed() const = 0;
  // What a person should know of how it was read: where it broke off, what its times are; empty: nothing.
  virtual std::string remark() const { return {}; }
};

}  // namespace rookery::archive
