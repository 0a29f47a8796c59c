// Levelling a lapse: what the camera's exposure, its white balance, lamps and the mains did to its pictures
// is taken out, so that the film does not flicker.
#pragma once

#include <span>
#include <vector>

#include "base/result.h"
#include "vision/lapse_planes.h"

namespace rookery::vision {

// What levelling has to know of a picture; some 20 kB.
struct LevelSample {
  int columns = 0;           // of cells, at most 40
  int rows = 0;              // of cells, at most 120
  std::vector<float> cells;  // mean luma of each, row by row, full range whatever the picture's
  std::vector<float> blue;   // mean Cb − 128 of each, or none
  std::vector<float> red;    // mean Cr − 128
  double noise = 0;          // standard deviation, grey levels (vision/noise.h, or as measured here)
};

// picture: borrowed. Errors: invalid_value for a picture under 8×8 samples.
base::Result<LevelSample> sample_levels(const PictureView& picture);

struct LevelOptions {
  int window = 15;          // frames, odd, 3 to 129: the level of a frame is drawn to the median of so many
  double most_gain = 1.41;  // a frame's luma is multiplied by 1/most_gain to most_gain; 1 to 2
  double most_colour = 12;  // a frame's colour is shifted by at most this, grey levels of Cb and Cr; 0 to 40
  double most_noise = 4;    // never multiplied so that noise exceeds this, grey levels (1: never brightened)
  double lamp = 1.25;       // a step of more than this that stays is a lamp: the level may step there
  bool bands = true;        // take mains banding off the rows
};

// What is to be done to one frame.
struct LevelCorrection {
  double gain = 1;        // of luma and of colour's distance from grey
  double blue_shift = 0;  // added to Cb and Cr, grey levels
  double red_shift = 0;
  std::vector<float> rows;     // added to luma, grey levels, in equal parts of the height; empty: nothing
  bool limited = false;        // a limit kept the frame from its level
  bool lamp_switched = false;  // from the frame before: a clean step
};

// samples: of all frames in order, of one size. Errors: invalid_value for options outside their range or
// samples of different sizes. any-thread.
base::Result<std::vector<LevelCorrection>> plan_levels(std::span<const LevelSample> samples,
                                                       const LevelOptions& options = {});

// Changes the picture in place. Black stays black and white white: the upper fifth of the scale bends towards
// it, so that a lamp in the picture does not flicker against the correction. any-thread.
void apply_levels(const LevelCorrection& correction, const PictureView& picture);

}  // namespace rookery::vision
