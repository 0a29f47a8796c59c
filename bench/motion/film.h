// Pictures of real scenes, as a board would take and encode them: a film of a street and photographs, all
// from Debian's package opencv-doc, read through FFmpeg's program.
#pragma once

#include <string>
#include <vector>

#include "sim/canvas.h"
#include "sim/encoder.h"

namespace rookery::bench {

inline constexpr const char* kExamples = "/usr/share/doc/opencv-doc/examples/data/";
inline constexpr int kFilm_hz = 10;  // pictures a second of vtest.avi, which has 795
inline constexpr sim::Size kBoardSize{640, 480};

// Every `every`-th picture of a film or the one of a photograph in kExamples, scaled to kBoardSize (cut to
// its shape where it has another); `most` of them. Empty when the file or FFmpeg's program is missing.
std::vector<sim::Picture> read_pictures(const std::string& name, int every = 1, int most = 100'000);

// The median of each sample over the pictures, which are of one size and at least one.
sim::Picture median_of(const std::vector<sim::Picture>& pictures);

// The IJG quality whose JPEG of `picture` comes nearest to `bytes` from below.
int quality_for(const sim::Picture& picture, std::size_t bytes);

}  // namespace rookery::bench
