// Levelling a lapse: what the camera's exposure, its white balance, lamps and the mains did to its pictures
// is taken out, so that the film does not flicker.
#pragma once

#include <span>
#include <vector>

#include "base/result.h"
#include "vision/lapse_planes.h"

namespace rookery::vision {

// What levelling has to know of a picture; some 22 kB, a coarse one 6 kB. Levels as of a full-range picture,
// whatever it is.
struct LevelSample {
  int columns = 0;           // of luma cells, at most 40
  int rows = 0;              // of luma cells, at most 120
  std::vector<float> cells;  // mean luma of each, row by row
  std::vector<float> blue;   // mean Cb − 128 of some 300 parts of the picture; empty: it has no colour
  std::vector<float> red;    // mean Cr − 128
  double noise = 0;          // standard deviation, grey levels (vision/noise.h)
};

// picture: borrowed. coarse: with a quarter of the rows, which do not tell of mains banding
// (LevelOptions::bands is to be off), and of the colour: for films that are so long that their samples would
// fill the memory. Errors: invalid_value for a picture under 8×8 samples.
base::Result<LevelSample> sample_levels(const PictureView& picture, bool coarse = false);

struct LevelOptions {
  int window = 15;          // frames, odd, 3 to 129: a frame's level is drawn to that of so many round it
  double most_gain = 1.41;  // luma is multiplied by 1/most_gain to most_gain; 1 to 2
  double most_colour = 12;  // Cb and Cr are shifted by at most this, grey levels; 0 to 40
  double most_noise = 4;  // not brightened beyond the gain at which noise shows so much, grey levels; 0 to 40
  double lamp = 1.25;     // a step by more than this factor that stays is a lamp; 1.05 to 4
  bool bands = true;      // take mains banding off the rows
};

// What is to be done to one frame.
struct LevelCorrection {
  double gain = 1;          // of luma, and of colour's distance from grey
  double blue_shift = 0;    // added to Cb, grey levels
  double red_shift = 0;     // added to Cr
  std::vector<float> rows;  // luma is multiplied by these too, in equal parts of the height; empty: by none
  bool limited = false;     // a limit kept the frame from its level
  bool lamp_switched = false;  // before this frame: the level steps here, and is not drawn over the step
};

// samples: of all frames in order, of one size. Errors: invalid_value for options outside their range or
// samples of different sizes. any-thread.
base::Result<std::vector<LevelCorrection>> plan_levels(std::span<const LevelSample> samples,
                                                       const LevelOptions& options = {});

// Changes the picture in place. Black stays black and white white: the upper tenth of the scale bends towards
// it, so that a lamp in the picture does not flicker against the correction. any-thread.
void apply_levels(const LevelCorrection& correction, const PictureView& picture);

}  // namespace rookery::vision
