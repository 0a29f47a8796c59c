// LapseChooser: which few of a job's many pictures make its lapse, so that the work grows and the head that
// does it stands still.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "base/result.h"

namespace rookery::vision {

// One picture that may be taken.
struct LapsePicture {
  double at_s = 0;  // since any moment, strictly rising from picture to picture
  // Luma, row by row, width·height of the options; borrowed for the call.
  std::span<const std::uint8_t> cells{};
  double sharpness = 0;     // variance of the Laplacian (vision/sharpness.h) or the like; 0: not known
  double dark_share = 0;    // of the picture, 0 to 1 (vision/exposure.h)
  double bright_share = 0;  // 0 to 1
  bool usable = true;       // false: damaged, blocked, or what else the caller knows
};

// The moments of the lapse: first, first + every, … The picture of slot k lies within first + k·every ±
// window.
struct LapseSlots {
  double first_s = 0;
  double every_s = 60;  // above 0
  int count = 0;        // 1 to kMostLapseSlots
};
inline constexpr int kMostLapseSlots = 200'000;

// `count` slots that share out from_s to to_s, with the last at to_s; one slot stands at to_s. Errors:
// invalid_value when the span is not above 0 or a number is not finite or outside its range.
base::Result<LapseSlots> share_out_slots(double from_s, double to_s, int count);

enum class LapseRule : std::uint8_t {
  likest,  // the row of pictures of least cost as a whole: what to use
  even,    // nearest in time to each slot; for comparison
  middle,  // nearest to the window's median picture; for comparison
};

// What makes a row of pictures bad; grey levels of a picture whose middle is 128 (docs/lapse.md).
struct LapseWeights {
  double spacing = 7;    // · ((t − s)/every − 1)²
  double head = 6;       // · share of the picture that the head takes
  double unusable = 60;  // · how unusable, 0 to 1
  double light = 12;     // · |log2 of the ratio of two neighbours' medians|, at most 2: stay under one lamp
};

struct LapseOptions {
  int width = 40;  // of the thumbnails, 4 to 160
  int height = 30;
  LapseSlots slots;
  LapseRule rule = LapseRule::likest;
  double window = 0.4;       // of `every`, above 0 to below 0.5
  int most_in_window = 120;  // 2 to 250: of more, one in each equal part of the window is kept
  LapseWeights weights;
};

struct LapseFrame {
  std::size_t picture = 0;  // its number in order of add(), from 0
  double at_s = 0;
  int slot = 0;
  double head_share = 0;  // of the picture, 0 to 1, as learnt
  double light = 0;       // mean of the middle half of its cells, grey levels
  double unusable = 0;    // 0 to 1; 1: the window held nothing better
};

struct LapseChoice {
  std::vector<LapseFrame> frames;  // strictly rising in slot and time
  std::vector<int> empty_slots;    // no picture at all in their window
  double cost = 0;                 // of the row, by the weights, whatever the rule
  // One value a cell, 0 to 1: in what share of the slots it grew (changed to stay), and in what share the
  // head came and went there. What steadying has to leave out.
  std::vector<float> growth;
  std::vector<float> head;
};

// 1 for each cell that neither grew nor was passed by the head in a twentieth of the slots; what the Steadier
// is to hold on to.
std::vector<std::uint8_t> still_cells(const LapseChoice& choice);

// Bridges the times in which the lamp was off: takes out the frames that are darker than `share` (0 to 1) of
// the brightest tenth, and says their slots. Nothing is taken out where less than a quarter would be left:
// then the job was done in the dark.
std::vector<int> leave_out_dark(LapseChoice& choice, double share = 0.65);

// strand-bound. Pictures go in once, in order; nothing of them is kept once their slots are past. Memory: the
// windows of 8 slots (2 bytes a cell of a picture: at 40×30 and 120 pictures 2 MB) and 25 bytes for each
// picture that lies in a window, of 200 000 pictures at most 5 MB, twice that while it grows.
class LapseChooser {
 public:
  // Errors: invalid_value, with the option that is outside its range.
  static base::Result<LapseChooser> make(const LapseOptions& options);
  LapseChooser(LapseChooser&&) noexcept;
  LapseChooser& operator=(LapseChooser&&) noexcept;
  ~LapseChooser();

  // A picture outside all windows is counted and forgotten. Errors: invalid_value for another number of
  // cells, a time that is not finite or not after the one before, a share or sharpness that is no number of
  // its range; the picture is then not counted, and the chooser goes on.
  base::Result<void> add(const LapsePicture& picture);

  // Ends it; call once. Errors: not_found when no picture lies in any window, or none that does is usable,
  // with how many there were.
  base::Result<LapseChoice> finish();

  // What it holds at this moment.
  std::size_t bytes() const;

 private:
  class Body;
  explicit LapseChooser(std::unique_ptr<Body> body);
  std::unique_ptr<Body> body_;
};

}  // namespace rookery::vision
