// Steadying a lapse: small knocks against the camera are taken out by moving the picture back; where it was
// knocked further the film is cut, and says so.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.h"
#include "jpeg/luma_plane.h"
#include "vision/lapse_planes.h"

namespace rookery::vision {

struct SteadyOptions {
  double least_px = 0.3;     // smaller shifts are left
  double least_peak = 0.2;   // a less certain one is not believed; of the correlation, 0 to 1
  double most_share = 0.05;  // of the picture's width or height: beyond it the film is cut
};

struct SteadyFrame {
  double dx_px = 0;  // where the frame's content lies against the film's first: move it by −dx, −dy
  double dy_px = 0;
  double peak = 0;     // 0 to 1: how certain
  bool moved = false;  // dx, dy are to be applied
  std::string cut;     // not empty: cut before this frame, and why, in words
};

// strand-bound. Takes the frames of a film one by one.
class Steadier {
 public:
  // still: 1 for each cell of columns×rows over the picture that neither grows nor is passed by the head;
  // empty: all of it. Errors: invalid_value for a picture under 64×48 or above 4096 px, options outside their
  // range, another number of cells, or less than a tenth of the picture still.
  static base::Result<Steadier> make(int width_px, int height_px, std::span<const std::uint8_t> still,
                                     int columns, int rows, const SteadyOptions& options = {});
  Steadier(Steadier&&) noexcept;
  Steadier& operator=(Steadier&&) noexcept;
  ~Steadier();

  // Errors: invalid_value for a frame of another size (the film has to be cut by whoever knows why).
  base::Result<SteadyFrame> add(const jpeg::LumaPlane& frame);

 private:
  class Body;
  explicit Steadier(std::unique_ptr<Body> body);
  std::unique_ptr<Body> body_;
};

// from moved by dx, dy (to the right, down) into `to`, of the same size and other memory: bilinear, the
// border is repeated. Colour planes take their share of the shift. any-thread.
void shift_plane(const PlaneView& from, double dx, double dy, const PlaneView& to);

}  // namespace rookery::vision
