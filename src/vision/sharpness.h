// How sharp a picture is: variance of the Laplacian (to compare a scene with itself), and MTF50 of a slanted
// edge (ISO 12233), which means the same in every scene.
#pragma once

#include <optional>

#include "jpeg/luma_plane.h"

namespace rookery::vision {

// Variance of the Laplacian 0 1 0 / 1 −4 1 / 0 1 0 over all pixels that have four neighbours (Pech-Pacheco
// and others 2000). Grows with detail, contrast and noise alike: compare only pictures of one scene. 0 for a
// picture without such pixels. any-thread.
double compute_laplacian_variance(const jpeg::LumaPlane& plane);

struct PixelBox {
  int x_px = 0;
  int y_px = 0;
  int width_px = 0;
  int height_px = 0;
  bool operator==(const PixelBox&) const = default;
};

struct SlantedEdge {
  double mtf50_cycles_per_px = 0;  // across the edge; at most 0.8
  double slant_degrees = 0;        // from the rows or columns, 0 to 45
  double contrast = 0;             // grey levels between its sides
  bool upright = true;             // nearer to a column than to a row
  PixelBox box;
};

// MTF50 of the one edge that crosses `box` from its first row to its last (upright) or from its first column
// to its last: edge spread in 4 bins a pixel, derivative, Hamming's window, normalised DFT (ISO 12233:2014),
// corrected for the derivative's own response. Nothing when there is no such edge: too little contrast, sides
// that are not flat or at the end of the scale, an edge that is not straight, not slanted enough to cross a
// whole pixel (about 2° in 32 rows) or slanted more than 25°, or one that is sharper than a lens and a pixel
// can make. any-thread.
std::optional<SlantedEdge> measure_edge(const jpeg::LumaPlane& plane, const PixelBox& box, bool upright);

// The sharpest of the edges that can be measured anywhere in the picture; an edge of a chart, a shelf or a
// door frame will do. A soft shadow counts against nothing, as the sharpest tells what lens and sensor can.
// any-thread.
std::optional<SlantedEdge> find_slanted_edge(const jpeg::LumaPlane& plane);

}  // namespace rookery::vision
