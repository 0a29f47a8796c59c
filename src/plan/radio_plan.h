// What the parts of the subject "radio" share.
#pragma once

#include <string>
#include <vector>

#include "plan/answer.h"
#include "plan/field.h"
#include "plan/radio_load.h"

namespace rookery::plan {

// What was asked, with what stands between the reading and the rate taken off.
struct RadioPlan {
  int cameras = 0;
  int weak = 0;  // of them, heard as badly as the worst
  int channels = 1;
  Dbm usual_signal;
  Dbm weak_signal;  // the same as the usual when there is no weak one
  Decibels fade;
  double others = 0;  // share of each channel that is taken already
  double most = 1;    // of a channel that may be taken, others included
  Seconds round_trip;
  RadioLoad load;

  double fullest() const { return fullest_share(load, cameras, weak, channels); }
  int fit() const { return cameras_that_fit(load, weak, channels, most - others); }
  // Of the worst camera: weak ones when there are any.
  const HtRate& worst_rate() const { return weak > 0 ? load.weak : load.usual; }
  Dbm worst_signal() const { return weak > 0 ? weak_signal : usual_signal; }
};

// The rate that a signal is enough for once `fade` is taken off.
const HtRate& rate_with(Dbm signal, Decibels fade);

// One thing to change, and what it brings.
struct RadioChange {
  std::string what;
  double share = 0;  // of the fullest channel, without others
  int fit = 0;
};
// The plan itself first, then each change; never empty.
std::vector<RadioChange> radio_changes(const RadioPlan& plan);
// The change that lets most cameras fit; of those that bring the same, the first, which costs least; null
// when none lets more fit than fit now.
const RadioChange* most_gain(const std::vector<RadioChange>& changes);

// What one camera can get through, and what sets it.
struct BoardCeiling {
  BytesPerSecond rate;
  std::string source;
  std::string remedy;
};
BoardCeiling ceiling_of_worst(const RadioPlan& plan);

std::vector<Step> radio_steps(const RadioPlan& plan);
std::string radio_drawing(const RadioPlan& plan);

// "1 camera", "6 cameras".
std::string cameras_of(int count);
// "none fits", "1 fits", "6 fit", "300 and more fit".
std::string fit_words(int fit);
// "64 %"; above ten times "23 times the whole".
std::string show_share(double share);
// As bits a second, which radios are counted in: "2.40 Mbit/s".
std::string show_bits(BytesPerSecond rate);

}  // namespace rookery::plan
