// A lapse: the short film of a job, in which the work grows, what does it stands still and the light is even.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "archive/film_format.h"
#include "archive/picture_source.h"
#include "archive/whole_file.h"

namespace rookery::archive {

constexpr int kLapseCard_s = 2;  // how long a film's card is shown

struct LapseRequest {
  std::string what;  // whose film it is, for its title and for errors: "anvil"
  FilmFormat format = FilmFormat::mp4;
  double length_s = 30;   // of the film, above 0 to 3600; where no speed is given
  double speed = 0;       // so many times as fast as it happened, 1 to 1 000 000; 0: by the length
  int frames_per_s = 25;  // 1 to 60
  int width_px = 0;       // 64 to 3840; 0: as recorded, at most 1920
  std::string card;       // shown for 2 s over the first picture, with the span under it; empty: no card
  bool lit_only = false;  // leave out what was taken while a lamp was off
  bool clock = false;     // when it was taken, in the corner of each picture
  Existing existing = Existing::refuse;
};

// Where the film is no longer of the same view.
struct LapseCut {
  double film_s = 0;         // in the film
  base::Microseconds at{0};  // since the first picture
  std::string why;
};

struct LapseResult {
  int frames = 0;  // of the film, its card among them
  int wanted = 0;  // as length or speed ask, without the card; nothing is shown twice
  double length_s = 0;
  std::uint64_t bytes = 0;
  int width_px = 0;
  int height_px = 0;
  std::optional<base::WallTime> first_at;  // of the first picture there is; the others count from it
  base::Microseconds first{0};             // of the first and last that are shown
  base::Microseconds last{0};
  double speed = 0;             // of real time
  std::uint64_t pictures = 0;   // in the span
  std::uint64_t looked_at = 0;  // of them, those between which was chosen
  std::uint64_t bad = 0;        // of those, damaged: shown only where there was no other
  std::uint64_t earlier = 0;    // left out, since a clock had been set back
  int resized = 0;              // frames of another size than the film, framed in black
  int dark = 0;                 // frames left out, since a lamp was off
  int empty = 0;                // frames for which nothing was recorded
  int steadied = 0;             // frames moved back after a knock
  int quieted = 0;              // frames whose noise was taken down by the pictures beside them
  int limited = 0;              // frames whose light could not be levelled without showing noise
  int lamps = 0;                // lamps switched on or off
  std::vector<LapseCut> cuts;
  int gone = 0;            // frames left out, since retention removed what was chosen
  bool chosen = true;      // false: under two pictures a frame, so it is not steadied
  bool steady = true;      // false: not chosen, or too little stood still to steady it by
  std::string remark;      // what the source says of how it was read: broken off, its times
  double rms_spacing = 0;  // how far the frames stray from even spacing, s
};

// Reads the same pictures each time that it is called.
using OpenPictures = std::function<base::Result<std::unique_ptr<PictureSource>>()>;

// Goes over the pictures three times: which there are, which are the best, and the film. Writes `file`
// through a temporary name beside it; it appears only when whole. `progress` gets 0–1 and returns false to
// cancel. Blocks: call it on a worker thread. Memory: 22 kB a frame of the film (6 kB of one of more than
// 15 000, from which mains banding is not taken), and what the encoder holds: 174 MiB in all at 1280×720, 1
// GiB at 3840×2880; an animated picture is held whole, and bound. Errors: invalid_value (with the range),
// not_found (no picture, or none that is usable), too_large (more frames or pixels than a film may have),
// already_exists, unsupported (no such encoder here), disk_full, no_permission, cancelled.
base::Result<LapseResult> make_lapse(const OpenPictures& open, const LapseRequest& request,
                                     const std::filesystem::path& file,
                                     const std::function<bool(double)>& progress);

}  // namespace rookery::archive
