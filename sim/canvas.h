// Pictures as boards make them (YCbCr, 4:2:2, full range) and the drawing of what moves in them.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "sim/trace.h"
#include "sim/types.h"

namespace rookery::sim {

// Three planes; the colour planes have half the width.
struct Picture {
  Picture() = default;
  explicit Picture(Size size_);
  Size size{0, 0};
  std::vector<std::uint8_t> y;
  std::vector<std::uint8_t> u;
  std::vector<std::uint8_t> v;
  int half() const { return size.width / 2; }
};

// A colour of the picture (JPEG full range).
struct Ink {
  float y = 0;
  float u = 128;
  float v = 128;
};
// From sRGB, 0–255 each.
Ink ink(int red, int green, int blue);
// Brighter or darker by a factor, colour kept.
Ink scaled(Ink colour, float factor);

struct Point {
  float x = 0;
  float y = 0;
};

// How light becomes a picture.
struct Look {
  float exposure = 1;
  Vec3 tint{1, 1, 1};  // white balance
  float vignette = 0.25F;
  float bloom = 0.08F;
  float saturation = 1;
};

// The picture of a film, with tone curve, bloom and vignette.
Picture develop(const Film& film, const Look& look);

// A cut-out that can be drawn anywhere.
struct Sprite {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> texels;  // Y, U, V, alpha for each pixel, not multiplied
};
Sprite develop_sprite(const Film& film, const Look& look);

// What covers moving things: the front solids of a film, as a cut-out of the same place.
Sprite develop_front(const Film& film, const Look& look);

// What is moving in a picture, and the upright box round what it touches there.
struct MovingBox {
  std::string_view what;  // of static life
  Region region;
};

// Draws into a picture that it borrows, or draws nothing and notes where it would. Positions in pixels, may
// lie outside. strand-bound.
class Canvas {
 public:
  explicit Canvas(Picture& picture) : p_(picture) {}
  // Notes instead of drawing: one box for each `what` that moving() names, cut to the picture. Borrows both.
  Canvas(Size size, std::vector<MovingBox>& boxes) : size_only_(size), p_(size_only_), boxes_(&boxes) {}
  Canvas(const Canvas&) = delete;
  Canvas& operator=(const Canvas&) = delete;
  Size size() const { return p_.size; }
  // False when there is only noting: then nothing may be read from or written to picture().
  bool draws() const { return boxes_ == nullptr; }
  Picture& picture() { return p_; }
  // From here on what is drawn is `what`, which moves (of static life); empty: it stands still.
  void moving(std::string_view what) { what_ = what; }
  // Notes a box without drawing: for what was drawn by mixing pictures.
  void note(Region region);
  // Below this row what moves is hidden by something in front of it.
  void hidden_below(int row) { hidden_below_ = row; }

  // The whole picture from another of the same size; mixed from two when 0 < t < 1.
  void restore(const Picture& from);
  void restore_mixed(const Picture& a, const Picture& b, float t);
  // A sprite with its upper left corner there; opacity 0–1, gain multiplies its brightness.
  void sprite(const Sprite& sprite, float x, float y, float opacity = 1, float gain = 1,
              bool mirrored = false);
  // The same, drawn `scale` times as large (0.2 to 1.5).
  void sprite_scaled(const Sprite& sprite, float x, float y, float scale, float opacity = 1, float gain = 1,
                     bool mirrored = false);
  // A filled outline; brightness changes by `slope` luma steps a pixel downward from its middle.
  void fill(std::span<const Point> outline, Ink colour, float opacity = 1, float slope = 0);
  void line(Point a, Point b, float width, Ink colour, float opacity = 1);
  void disc(Point centre, float rx, float ry, Ink colour, float opacity = 1);
  // Soft round light added, or shadow taken away (strength 0–1).
  void glow(Point centre, float rx, float ry, Ink colour, float strength);
  void shadow(Point centre, float rx, float ry, float strength);
  // Rows of `region` moved sideways by amplitude·sin, as heat or wind does.
  void sway(Region region, float amplitude, float phase, float rows_a_wave, bool fade_downward);
  // Text of digits, upper case letters and "-:. " in strokes, `height` pixels tall; returns its width.
  float text(Point upper_left, float height, std::string_view text, Ink colour, float opacity = 1);

 private:
  template <class Coverage>
  void cover(float x0, float y0, float x1, float y1, Coverage coverage, Ink colour, float slope,
             float middle);
  void blend(int x, int y, float alpha, Ink colour);
  // True when there is nothing to draw: the box from (x0, y0) to (x1, y1) was noted.
  bool noted(float x0, float y0, float x1, float y1);
  struct SizeOnly : Picture {
    explicit SizeOnly(Size only) { size = only; }
  };
  SizeOnly size_only_{Size{0, 0}};
  Picture& p_;
  std::vector<MovingBox>* boxes_ = nullptr;
  std::string_view what_;
  int hidden_below_ = 1 << 20;
  std::vector<float> work_;
  std::vector<std::uint8_t> row_;
};

}  // namespace rookery::sim
