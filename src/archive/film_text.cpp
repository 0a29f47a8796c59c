#include "archive/film_text.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>

#include <pango/pangocairo.h>

namespace rookery::archive {
namespace {

struct GlibFree {
  void operator()(void* object) const { g_object_unref(object); }
};
struct CairoFree {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  void operator()(cairo_t* context) const { cairo_destroy(context); }
};
struct FontFree {
  void operator()(PangoFontDescription* font) const { pango_font_description_free(font); }
};
using Surface = std::unique_ptr<cairo_surface_t, CairoFree>;
using Drawing = std::unique_ptr<cairo_t, CairoFree>;
using Layout = std::unique_ptr<PangoLayout, GlibFree>;

constexpr int kBlack = 16;  // limited range
constexpr int kNoColour = 128;

// Pango begins a paragraph at U+2029 and a line at U+2028, however many were allowed.
bool breaks_line(gunichar c) { return c == 0x85 || c == 0x2028 || c == 0x2029; }

// Pango refuses bytes that are no UTF-8, and would draw control characters as boxes.
std::string printable(std::string_view text) {
  std::unique_ptr<gchar, decltype(&g_free)> valid(
      g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())), &g_free);
  std::string out;
  for (const char* at = valid.get(); *at != '\0'; at = g_utf8_next_char(at)) {
    const gunichar c = g_utf8_get_char(at);
    if ((c < ' ' && c != '\n') || breaks_line(c)) {
      out += ' ';
    } else {
      out.append(at, static_cast<const char*>(g_utf8_next_char(at)));
    }
  }
  return out;
}

Layout lay_out(PangoContext* context, std::string_view text, int line_px, int most_width_px, int most_lines) {
  Layout layout(pango_layout_new(context));
  const std::unique_ptr<PangoFontDescription, FontFree> font(pango_font_description_from_string("sans"));
  pango_font_description_set_absolute_size(font.get(), std::clamp(line_px, 6, 400) * PANGO_SCALE);
  pango_layout_set_font_description(layout.get(), font.get());
  pango_layout_set_alignment(layout.get(), PANGO_ALIGN_CENTER);
  pango_layout_set_width(layout.get(), std::max(1, most_width_px) * PANGO_SCALE);
  pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
  pango_layout_set_height(layout.get(), -std::max(1, most_lines));
  pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
  pango_layout_set_text(layout.get(), text.data(), static_cast<int>(text.size()));
  return layout;
}

// The part of [at, at + length) inside [0, most).
struct Stretch {
  int begin;
  int end;
};
Stretch clipped(int at, int length, int most) {
  return {std::clamp(at, 0, most), std::clamp(at + length, 0, most)};
}

std::uint8_t mixed(int from, int to, int share255) {
  return static_cast<std::uint8_t>((from * (255 - share255) + to * share255 + 127) / 255);
}

}  // namespace

// Of its own rather than the thread's, which lives as long as the thread.
struct TextPen::Fonts {
  std::unique_ptr<PangoFontMap, GlibFree> map{pango_cairo_font_map_new()};
  std::unique_ptr<PangoContext, GlibFree> context{pango_font_map_create_context(map.get())};
};

TextPen::TextPen() : fonts_(std::make_unique<Fonts>()) {}
TextPen::~TextPen() = default;

TextCover TextPen::draw(std::string_view text, int line_px, int most_width_px, int most_lines) {
  const Layout layout = lay_out(fonts_->context.get(), printable(text), line_px, most_width_px, most_lines);
  PangoRectangle ink;
  PangoRectangle logical;
  pango_layout_get_pixel_extents(layout.get(), &ink, &logical);
  TextCover cover;
  if (ink.width <= 0 || ink.height <= 0) return cover;
  // The line's box rather than the ink's: a clock does not jump as its digits change.
  const int width_px = logical.width;
  const int height_px = logical.height;
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_A8, width_px, height_px));
  const Drawing drawing(cairo_create(surface.get()));
  cairo_translate(drawing.get(), -logical.x, -logical.y);
  pango_cairo_show_layout(drawing.get(), layout.get());
  cairo_surface_flush(surface.get());
  if (cairo_surface_status(surface.get()) != CAIRO_STATUS_SUCCESS) return cover;
  cover.width_px = width_px;
  cover.height_px = height_px;
  const unsigned char* row = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  for (int y = 0; y < height_px; ++y, row += stride)
    cover.cover.insert(cover.cover.end(), row, row + width_px);
  return cover;
}

void put_text(AVFrame& picture, const TextCover& text, int x_px, int y_px, int luma) {
  const Stretch across = clipped(x_px, text.width_px, picture.width);
  const Stretch down = clipped(y_px, text.height_px, picture.height);
  const auto cover_at = [&](int x, int y) {
    return text.cover[static_cast<std::size_t>(y - y_px) * static_cast<std::size_t>(text.width_px) +
                      static_cast<std::size_t>(x - x_px)];
  };
  for (int y = down.begin; y < down.end; ++y) {
    std::uint8_t* row = picture.data[0] + static_cast<std::ptrdiff_t>(y) * picture.linesize[0];
    for (int x = across.begin; x < across.end; ++x) row[x] = mixed(row[x], luma, cover_at(x, y));
  }
  for (int plane = 1; plane < 3; ++plane) {
    for (int y = (down.begin + 1) / 2; 2 * y < down.end; ++y) {
      std::uint8_t* row = picture.data[plane] + static_cast<std::ptrdiff_t>(y) * picture.linesize[plane];
      for (int x = (across.begin + 1) / 2; 2 * x < across.end; ++x)
        row[x] = mixed(row[x], kNoColour, cover_at(2 * x, 2 * y));
    }
  }
}

void dim_box(AVFrame& picture, int x_px, int y_px, int width_px, int height_px, double share) {
  const int keep = static_cast<int>(std::lround(255 * std::clamp(share, 0.0, 1.0)));
  for (int plane = 0; plane < 3; ++plane) {
    const int step = plane == 0 ? 1 : 2;
    const int to = plane == 0 ? kBlack : kNoColour;
    const Stretch across = clipped(x_px / step, width_px / step, picture.width / step);
    const Stretch down = clipped(y_px / step, height_px / step, picture.height / step);
    for (int y = down.begin; y < down.end; ++y) {
      std::uint8_t* row = picture.data[plane] + static_cast<std::ptrdiff_t>(y) * picture.linesize[plane];
      for (int x = across.begin; x < across.end; ++x) row[x] = mixed(to, row[x], keep);
    }
  }
}

}  // namespace rookery::archive
