// Knocks against the camera of a printer's lapse: what steadying finds of them, against what was done.
#pragma once

#include "bench/lapse/job_film.h"

namespace rookery::bench {

struct KnockScore {
  int frames = 0;                         // that were knocked and are to be taken back
  int found = 0;                          // to 0.1° and 1 px of 640
  int cuts = 0;                           // of the film, where none is due
  double turn_mean = 0, turn_most = 0;    // error, degrees
  double shift_mean = 0, shift_most = 0;  // error, px of 640
  int large = 0;                          // knocks too large to be taken back
  int large_cut = 0;                      // of them, that were cut and told
};

// Of the row that is chosen: every five frames another knock, of up to 2.8° and a twenty-fifth of the width;
// drawn, turned, then with the sensor's noise, sent as JPEG. After it large ones: 5° or a tenth of the width.
KnockScore score_knocks(const FilmedJob& film, const JobOptions& job, const vision::LapseChoice& choice);

}  // namespace rookery::bench
