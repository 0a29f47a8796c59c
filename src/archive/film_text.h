// Inner: words in a film's pictures. Pango shapes them, so any language for which a font is installed.
#pragma once

#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

#include "archive/libav.h"

namespace rookery::archive {

// How much each pixel is covered by the words: 0 not at all, 255 wholly.
struct TextCover {
  int width_px = 0;
  int height_px = 0;
  std::vector<std::uint8_t> cover;  // row by row

  bool empty() const { return width_px == 0 || height_px == 0; }
};

// Draws words. Holds the fonts that it has looked up, which takes longer than drawing. One user at a time.
class TextPen {
 public:
  TextPen();
  ~TextPen();
  TextPen(const TextPen&) = delete;
  TextPen& operator=(const TextPen&) = delete;

  // `text`: UTF-8, lines parted by \n and broken where they are wider than `most_width_px`; what is no UTF-8
  // becomes U+FFFD, control characters spaces. `line_px`: the font's size, 6 to 400. At most `most_lines`
  // lines of each paragraph, the last one then ends in an ellipsis. Empty when there is no ink (no font
  // installed, or nothing but spaces).
  TextCover draw(std::string_view text, int line_px, int most_width_px, int most_lines = 1);

 private:
  struct Fonts;
  std::unique_ptr<Fonts> fonts_;
};

// Into a yuv420p picture of limited range, at a left upper corner; what lies outside is left out.
// `luma`: 16 black to 235 white. Colour fades under the words.
void put_text(AVFrame& picture, const TextCover& text, int x_px, int y_px, int luma);

// Towards black: 1 leaves a box of the picture as it is, 0 makes it black. Clipped to the picture.
void dim_box(AVFrame& picture, int x_px, int y_px, int width_px, int height_px, double share);

}  // namespace rookery::archive
