// Inner: the first two ways over a lapse's pictures: what there is, and which of it to show.
#pragma once

#include <functional>
#include <vector>

#include "archive/lapse.h"
#include "camera/frame.h"
#include "vision/lapse_choice.h"

namespace rookery::archive {

// What there is in the span.
struct LapseSpan {
  base::Microseconds last{0};  // since the first picture
  std::uint64_t pictures = 0;  // with strictly growing times
  std::uint64_t earlier = 0;
  std::optional<base::WallTime> first_at;
  std::string remark;                    // the source's, at its end
  std::vector<camera::PixelSize> sizes;  // of some pictures from all over the span, each size once
};
base::Result<LapseSpan> measure_span(PictureSource& source, const std::function<bool(double)>& progress);

// The time of a picture that step() said, since the span's first one: a recording's beginning may have been
// removed since it was measured.
base::Microseconds since_first(const LapseSpan& span, const PictureSource& source, base::Microseconds at);

// How many frames are wanted, whatever there is. Errors: invalid_value, too_large.
base::Result<int> count_frames(const LapseSpan& span, const LapseRequest& request);

struct LapseLook {
  std::vector<base::Microseconds> picks;  // since the span's first picture, strictly rising
  camera::PixelSize size;                 // of the first, or that most of those looked at have
  bool chosen = false;                    // false: there was no choice, and `still` is empty
  int empty = 0;
  int dark = 0;  // left out, where only what is lit was asked for
  std::uint64_t looked_at = 0;
  std::uint64_t bad = 0;  // of those looked at
  // Of the picks, those that are among `bad`, rising: shown, since there was nothing better.
  std::vector<base::Microseconds> bad_picks;
  int columns = 0;  // of `still`
  int rows = 0;
  std::vector<std::uint8_t> still;  // 1 where neither the work grows nor the head passes
};
// With less than two pictures a frame there is no choice: they are taken evenly, and `still` is empty; the
// dark is left out all the same.
base::Result<LapseLook> choose_pictures(PictureSource& source, const LapseSpan& span, int frames,
                                        bool lit_only, const std::function<bool(double)>& progress);

}  // namespace rookery::archive
