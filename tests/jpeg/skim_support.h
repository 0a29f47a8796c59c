// Baseline JPEGs of every make, written with libjpeg's own interface: any sampling, restart interval and
// Huffman tables.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>  // jpeglib.h wants FILE
#include <cstdlib>
#include <numeric>
#include <random>
#include <vector>

#include <jpeglib.h>

#include "tests/jpeg/decode_eighth.h"

namespace rookery::jpeg {

// What is in the picture: how its samples are drawn at random.
enum class Content {
  flat,     // one grey: blocks of a few bits
  ramp,     // a ramp with a little noise, as cameras see walls
  noise,    // every coefficient is used: many blocks end with their 63rd
  blocks,   // each 8×8 block black or white: the largest DC differences
  stripes,  // every other column black: the largest AC coefficients
};
inline constexpr int kContents = 5;

enum class Tables { standard, optimised, shuffled };  // shuffled: frequent symbols have long codes
enum class Scans { one, a_component_each, progressive };

struct Make {
  int width_px = 64;
  int height_px = 48;
  int components = 3;
  int luma_across = 2, luma_down = 2;  // sampling factors
  int blue_across = 1, blue_down = 1;
  int red_across = 1, red_down = 1;
  int quality = 75;
  int restart_mcus = 0;
  Tables tables = Tables::standard;
  Content content = Content::ramp;
  Scans scans = Scans::one;
  bool rgb = false;  // components are red, green and blue
  unsigned seed = 1;
};

inline std::vector<std::uint8_t> draw_row(const Make& m, int y, std::minstd_rand& random) {
  std::vector<std::uint8_t> row;
  for (int x = 0; x < m.width_px; ++x) {
    const auto any = static_cast<std::uint8_t>(random() >> 8);
    const auto at = [&] {
      switch (m.content) {
        case Content::flat:
          return 117;
        case Content::ramp:
          return std::min(255, 200 * x / m.width_px + 40 * y / m.height_px + any % 16);
        case Content::noise:
          return int{any};
        case Content::blocks:
          return (x / 8 * 7 + y / 8 * 13 + static_cast<int>(m.seed)) % 3 == 0 ? 255 : 0;
        case Content::stripes:
          return x % 2 * 255;
      }
      return 0;
    }();
    for (int c = 0; c < m.components; ++c) {
      row.push_back(static_cast<std::uint8_t>(c == 0 ? at : (at + 20 * c) % 256));
    }
  }
  return row;
}

// Gives the symbols of a table to its codes in another order.
inline void shuffle(JHUFF_TBL* table, std::minstd_rand& random) {
  const int symbols = std::accumulate(table->bits + 1, table->bits + 17, 0);
  for (int i = symbols - 1; i > 0; --i) {
    std::swap(table->huffval[i], table->huffval[random() % static_cast<unsigned>(i + 1)]);
  }
}

inline void choose_scans(jpeg_compress_struct& c, const Make& m, std::vector<jpeg_scan_info>& scans) {
  if (m.scans == Scans::progressive) jpeg_simple_progression(&c);
  if (m.scans != Scans::a_component_each) return;
  for (int i = 0; i < m.components; ++i) {
    jpeg_scan_info scan{};
    scan.comps_in_scan = 1;
    scan.component_index[0] = i;
    scan.Se = 63;
    scans.push_back(scan);
  }
  c.scan_info = scans.data();
  c.num_scans = static_cast<int>(scans.size());
}

inline std::vector<std::byte> make(const Make& m) {
  jpeg_compress_struct c{};
  jpeg_error_mgr errors{};
  c.err = jpeg_std_error(&errors);  // ends the test program on an error: none is expected
  jpeg_create_compress(&c);
  unsigned char* out = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&c, &out, &size);
  c.image_width = static_cast<JDIMENSION>(m.width_px);
  c.image_height = static_cast<JDIMENSION>(m.height_px);
  c.input_components = m.components;
  c.in_color_space = m.components == 1 ? JCS_GRAYSCALE : m.rgb ? JCS_RGB : JCS_YCbCr;
  jpeg_set_defaults(&c);
  jpeg_set_colorspace(&c, c.in_color_space);
  jpeg_set_quality(&c, m.quality, TRUE);
  const int factors[3][2] = {
      {m.luma_across, m.luma_down}, {m.blue_across, m.blue_down}, {m.red_across, m.red_down}};
  for (int i = 0; i < m.components; ++i) {
    c.comp_info[i].h_samp_factor = factors[i][0];
    c.comp_info[i].v_samp_factor = factors[i][1];
  }
  c.restart_interval = static_cast<unsigned>(m.restart_mcus);
  c.optimize_coding = m.tables == Tables::optimised ? TRUE : FALSE;
  std::minstd_rand random(m.seed);
  if (m.tables == Tables::shuffled) {
    for (auto* table :
         {c.dc_huff_tbl_ptrs[0], c.dc_huff_tbl_ptrs[1], c.ac_huff_tbl_ptrs[0], c.ac_huff_tbl_ptrs[1]}) {
      shuffle(table, random);
    }
  }
  std::vector<jpeg_scan_info> scans;
  choose_scans(c, m, scans);
  jpeg_start_compress(&c, TRUE);
  for (int y = 0; y < m.height_px; ++y) {
    auto row = draw_row(m, y, random);
    JSAMPROW rows[] = {row.data()};
    jpeg_write_scanlines(&c, rows, 1);
  }
  jpeg_finish_compress(&c);
  jpeg_destroy_compress(&c);
  const auto* begin = reinterpret_cast<const std::byte*>(out);
  std::vector<std::byte> jpeg(begin, begin + size);
  std::free(out);  // NOLINT: jpeg_mem_dest() takes it from malloc
  return jpeg;
}

}  // namespace rookery::jpeg
