// What moves in one camera's pictures, frame by frame: cells, regions, their tracks. Pure: time comes with
// each picture. How and why: docs/motion.md.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "jpeg/luma_grid.h"
#include "vision/cell_box.h"
#include "vision/levelling.h"
#include "vision/light_field.h"
#include "vision/mask.h"
#include "vision/sensitivity.h"

namespace rookery::vision {

// One connected thing that moves.
struct MovingRegion {
  CellBox box;
  unsigned cells = 0;
  unsigned track = 0;          // the same number in the next frame: probably the same thing
  base::Microseconds since{};  // when the track began
  base::Microseconds began{};  // when what moves through here began to move, at most 60 s ago
  double travelled = 0;        // of its centre since then, in cells, there and back again
  double away = 0;             // of its centre from where it began, in cells
  bool counts = false;         // large, lasting and of substance: an event is made of such
  std::string_view why;        // … if not: "small", "brief", "still", "machine", "light"
};

// What one picture showed.
struct MotionFrame {
  enum class Light : std::uint8_t {
    steady,
    switched,  // a lamp: the picture is learned anew, nothing moves meanwhile
  };
  base::Microseconds at{};
  std::uint8_t energy = 0;    // cells that moved, on the scale of MotionEnergy
  unsigned moving_cells = 0;  // of regions that count, with what they left in the last second
  unsigned now_cells = 0;     // … without
  Light light = Light::steady;
  bool dazzled = false;               // after that: nothing is looked for yet
  bool view_changed = false;          // another view, or a covered lens: learned anew as well
  std::vector<MovingRegion> regions;  // the largest first; also those that do not count
};

// Feeds on luma grids of one camera in order of time, best about 5 a second (2 to 30 work). A change of the
// grid's size begins anew. Takes out exposure and gain drift and mains banding; learns each cell's usual
// look and usual change, so that leaves and hot air come to rest; takes a thing that has come to rest into
// the background after some seconds.
class MotionDetector {
 public:
  explicit MotionDetector(Sensitivity sensitivity = {}, Mask mask = {});

  // at: on any clock that does not go back; a picture that is not younger than the one before is passed over,
  // as is a damaged one. The answer is valid until the next call. About 90 µs for 80×60
  // cells (bench/motion_bench.cpp).
  const MotionFrame& add(const jpeg::LumaGrid& grid, base::Microseconds at) &;

  // Takes effect with the next picture; what is learned stays. A mask of another size covers the share of
  // the picture that it was painted on.
  void set(Sensitivity sensitivity, Mask mask);

  // After a pause of the camera the picture may show another light, or another scene: it is learned anew
  // quickly, and nothing moves meanwhile.
  void resume();

  // All that is learned, to be kept over a restart: a restart causes no event. Format: docs/motion.md.
  std::vector<std::byte> save() const;
  // Errors: malformed, newer_version; nothing has changed then.
  base::Result<void> restore(std::span<const std::byte> saved);

 private:
  struct Track {
    unsigned number = 0;
    base::Microseconds since{};
    double x = 0, y = 0;              // centre, cells
    double first_x = 0, first_y = 0;  // where it began
    double travelled = 0;
    CellBox first_box{};
    int moved_on = 0;    // most cells by which it has left that
    bool came = false;   // … from the picture's edge
    double light_s = 0;  // that it was taken for light, at most kMostLight_s
  };
  // A region and what its cells said.
  struct Found {
    MovingRegion region;
    unsigned fresh_cells = 0;  // not passed over
    unsigned now_cells = 0;    // … that are over their threshold in this very picture
    double sum_x = 0, sum_y = 0;
    double age_s = 0;
    unsigned live_cells = 0;
    unsigned humming_cells = 0;  // in tiles that have been at work for a while, and nothing counted
  };
  static constexpr std::size_t kBandRows = 4;         // looked at side by side
  static constexpr std::uint16_t kTooSmall = 0xFFFF;  // a label

  void begin(int width, int height);
  void look_first(const jpeg::LumaGrid& grid);
  void level(const jpeg::LumaGrid& grid);
  void expect();
  void unband();
  void weigh_band(std::size_t first, float share, std::size_t slot);
  float take_out_band(std::size_t first, float share);
  void compare(double dt_s);
  unsigned vote(std::size_t row, float dt_s);
  void judge_light(const jpeg::LumaGrid& grid);
  bool is_blind() const;
  void relearn_until_settled(double dt_s);
  void find_regions(const jpeg::LumaGrid& grid, double dt_s);
  Found flood(std::size_t seed, std::uint16_t label);
  void follow(Found& found);
  bool is_at_edge(const CellBox& box) const;
  std::string_view settled(std::string_view why, double dt_s);
  void leave_out_spill();
  std::string_view why_not(const jpeg::LumaGrid& grid, std::uint16_t label, const Found& found,
                           double least_cells) const;
  bool is_light(const jpeg::LumaGrid& grid, std::uint16_t label, const MovingRegion& region) const;
  void learn(const jpeg::LumaGrid& grid, double dt_s);
  void follow_spells(double dt_s);
  void find_changing_tiles();
  struct Counted {
    bool any = false;   // something counted
    bool came = false;  // … that came from the picture's edge
  };
  Counted add_to_spell(std::size_t tile, bool is_new, float dt_s);
  enum class Worker : std::uint8_t { machine, somebody, passing };
  void end_spell(std::size_t tile, Worker worker);
  void fade_spells();
  template <class Do>
  void for_tile(std::size_t tile, Do&& with_cell);
  // Belongs to a region that counts.
  bool counts(std::size_t cell) const {
    const std::uint16_t label = label_[cell];
    return label != 0 && label <= counting_.size() && counting_[label - 1U] != 0;
  }
  void spread_restless();

  Sensitivity sensitivity_;
  Mask mask_;
  int width_ = 0;
  int height_ = 0;
  unsigned seen_ = 0;  // pictures since begin()
  base::Microseconds at_{};
  double learned_s_ = 0;    // time spent since begin()
  double relearn_s_ = 0;    // still to be learned at full speed
  double relearned_s_ = 0;  // … so far
  bool lamp_ = false;       // … since a lamp was switched, in the same view
  double unfaded_s_ = 0;    // since the memory of machines faded
  double quantum_ = 1;
  Exposure exposure_;  // of this picture against the background's
  LightField field_;   // … beside that
  unsigned next_track_ = 1;
  unsigned changed_ = 0;    // cells over their threshold in this picture, mask aside
  unsigned jumped_ = 0;     // … that the half second before did not have
  double usual_cells_ = 0;  // that move at once where cells are restless

  // One value a cell.
  std::vector<float> background_;  // grey levels
  std::vector<float> noise_;       // grey levels, 90th percentile of |difference|
  std::vector<float> recent_;      // levelled picture of the last half second
  std::vector<float> expected_;    // the background in this picture's light
  std::vector<float> factors_;     // of the field, in one row
  std::vector<float> bands_;       // of each row: the share of the background that was taken out
  std::vector<float> band_all_;    // of kBandRows rows
  std::vector<float> band_wanted_;
  std::vector<float> levelled_;           // this picture as the background's exposure would have it
  std::vector<std::int16_t> difference_;  // in eighths
  std::vector<std::uint8_t> over_;        // with a frame of zeros around it
  std::vector<std::uint8_t> votes_;
  std::vector<std::uint8_t> activity_;     // hysteresis, 0 to 6
  std::vector<float> restless_;            // share of the last minutes in which something moved here
  std::vector<float> spell_s_;             // movement here in the spell of work under way, but
  std::vector<float> counted_s_;           // … of what counted when the spell was no longer new
  std::vector<float> machine_s_;           // … in earlier ones, fading with a day
  std::vector<float> passing_s_;           // … in none, likewise
  std::vector<std::uint8_t> passed_over_;  // restless or a machine's, or beside what is
  std::vector<float> rest_s_;              // seconds since something changed here between pictures
  std::vector<float> age_s_;  // with a frame of zeros: how long something has been moving through
  std::vector<float> age_before_s_;
  std::vector<std::uint16_t> label_;         // of regions; 0 none
  std::vector<std::uint16_t> label_before_;  // of the picture before: tracks by label
  std::vector<std::uint8_t> counting_;       // of label − 1
  std::vector<std::uint32_t> stack_;
  std::vector<std::uint8_t> covered_;  // by the mask
  // One value a tile.
  std::vector<float> paused_s_;   // since something changed between pictures here or beside it
  std::vector<float> working_s_;  // since the last pause
  std::vector<float> humming_s_;  // … nor since something counted in it
  std::vector<float> visited_s_;  // for so long what works here is taken for somebody who came
  std::vector<std::uint8_t> changing_;
  jpeg::LumaGrid before_;      // the background in whole grey levels
  jpeg::LumaGrid flat_;        // this picture without the field of the one before
  std::vector<Track> tracks_;  // of label − 1, this picture
  std::vector<Track> tracks_before_;
  MotionFrame frame_;
};

}  // namespace rookery::vision
