// Steadying a lapse: small knocks against the camera are taken out by moving the picture back; where it was
// knocked further the film is cut, and says so.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "base/result.h"
#include "jpeg/luma_plane.h"
#include "vision/lapse_planes.h"

namespace rookery::vision {

struct SteadyOptions {
  double least_px = 0.3;     // smaller shifts are left; 0 to 8
  double least_peak = 0.2;   // a less certain one is not believed; 0.05 to 1
  double most_share = 0.05;  // of the picture's width or height: beyond it the film is cut; above 0 to 0.25
  double least_turn_deg = 0.08;  // a smaller turn is left; 0 to 1
  double most_turn_deg = 3;      // beyond it the film is cut; 0 (turns are not looked for) to 10
};

struct SteadyFrame {
  // Where the content lies against the first frame since the last cut: turned about the picture's middle,
  // clockwise as it is seen, and then moved to the right and down. take_back() undoes it. 0 where it is not
  // to be moved.
  double dx_px = 0;
  double dy_px = 0;
  double turn_deg = 0;
  double peak = 0;  // of the correlation, 0 to 1: how certain; below least_peak the shift is that of before
};

struct LapseCut {
  std::size_t frame = 0;  // the first one after the cut
  double at_s = 0;        // its time
  std::string why;        // in words
};

struct SteadyPlan {
  std::vector<SteadyFrame> frames;
  std::vector<LapseCut> cuts;
};

// strand-bound. Takes the frames of a film one by one; holds three of them as spectra, about 2 MB, and
// three of their details.
class Steadier {
 public:
  // still: 1 for each cell of columns×rows over the picture that neither grows nor is passed by the head
  // (still_cells() of vision/lapse_choice.h); empty: all of it. Errors: invalid_value for a picture under
  // 64×48 or above 4096×4096, options outside their range, another number of cells, or less than a tenth
  // still.
  static base::Result<Steadier> make(int width_px, int height_px, std::span<const std::uint8_t> still,
                                     int columns, int rows, const SteadyOptions& options = {});
  Steadier(Steadier&&) noexcept;
  Steadier& operator=(Steadier&&) noexcept;
  ~Steadier();

  // at_s: only said again. Errors: invalid_value for a frame of another size; it does not count then.
  base::Result<void> add(const jpeg::LumaPlane& frame, double at_s);

  // Ends it; call once.
  SteadyPlan finish();

 private:
  class Body;
  explicit Steadier(std::unique_ptr<Body> body);
  std::unique_ptr<Body> body_;
};

// from moved by dx, dy (to the right, down) into `to`, of the same size and other memory: bilinear, the
// border is repeated. Colour planes take their share of the shift. any-thread.
void shift_plane(const PlaneView& from, double dx, double dy, const PlaneView& to);

// Undoes what SteadyFrame says: `from` into `to`, of the same size and other memory; bilinear, the border is
// repeated. dx, dy: in samples of the plane, which are square. any-thread.
void take_back(const PlaneView& from, double dx, double dy, double turn_deg, const PlaneView& to);

}  // namespace rookery::vision
