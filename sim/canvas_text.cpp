// Text in strokes: digits, capital letters and the few signs that a clock needs.
#include <optional>

#include "sim/canvas.h"

namespace rookery::sim {
namespace {

// Each glyph is strokes on a grid 4 wide and 6 tall: pairs "xy", strokes parted by a blank.
struct Glyph {
  char sign;
  std::string_view strokes;
};
constexpr Glyph kGlyphs[] = {
    {'0', "103041453616050110"},
    {'1', "112026 1636"},
    {'2', "01103041420646"},
    {'3', "0110304142334445361605 1333"},
    {'4', "300444 3036"},
    {'5', "400002324345361605"},
    {'6', "3010010516364544331304"},
    {'7', "004016"},
    {'8', "13020110304142331304051636454433"},
    {'9', "051636454130100102133342"},
    {'-', "1333"},
    {':', "2222 2525"},
    {'.', "2626"},
    {'U', "000516364540"},
    {'T', "0040 2026"},
    {'C', "4130100105163645"},
    {'A', "062046 1434"},
    {'B', "00063645443303 3342413000"},
    {'D', "00063645413000"},
    {'E', "40000646 0333"},
    {'F', "400006 0333"},
    {'I', "2026"},
    {'K', "0006 4003 0346"},
    {'L', "000646"},
    {'M', "0600234046"},
    {'N', "06004640"},
    {'O', "103041453616050110"},
    {'P', "06003041423303"},
    {'R', "06003041423303 2346"},
    {'S', "413010010213334445361605"},
    {'V', "002640"},
};

std::string_view strokes_of(char sign) {
  for (const Glyph& glyph : kGlyphs) {
    if (glyph.sign == sign) return glyph.strokes;
  }
  return {};
}

}  // namespace

float Canvas::text(Point at, float height, std::string_view text, Ink colour, float opacity) {
  const float unit = height / 6;
  const float width = std::max(1.0F, unit * 0.85F);
  float x = at.x;
  for (const char sign : text) {
    const std::string_view strokes = strokes_of(sign);
    std::optional<Point> last;
    for (std::size_t i = 0; i + 1 < strokes.size();) {
      if (strokes[i] == ' ') {
        last.reset();
        ++i;
        continue;
      }
      const Point next{x + static_cast<float>(strokes[i] - '0') * unit,
                       at.y + static_cast<float>(strokes[i + 1] - '0') * unit};
      if (last) line(*last, next, width, colour, opacity);
      last = next;
      i += 2;
    }
    x += unit * (sign == '.' || sign == ':' ? 4.4F : 6.0F);
  }
  return x - at.x;
}

}  // namespace rookery::sim
