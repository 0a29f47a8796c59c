// The luma grid shows the picture at an eighth, keeps its memory, and says when data was damaged.
#include "jpeg/luma_grid.h"

#include <gtest/gtest.h>

#include <thread>

#include "tests/jpeg/jpeg_support.h"

namespace rookery::jpeg {
namespace {

// The mean luma that the drawn picture has in one cell. The tints of red, green and blue are 0, −10, 20:
// BT.601 weighs them to −3.6.
double mean_of(const Wanted& w, int cell_x, int cell_y) {
  double sum = 0;
  int count = 0;
  for (int y = cell_y * 8; y < std::min(w.height_px, cell_y * 8 + 8); ++y) {
    for (int x = cell_x * 8; x < std::min(w.width_px, cell_x * 8 + 8); ++x) {
      sum += drawn(w, x, y);
      ++count;
    }
  }
  return sum / count + 0.587 * -10 + 0.114 * 20;
}

TEST(LumaGrid, CellsAreTheMeansOfTheirBlocks) {
  for (const int sampling : {TJSAMP_420, TJSAMP_422, TJSAMP_444, TJSAMP_440, TJSAMP_411, TJSAMP_GRAY}) {
    for (const int flags : {0, TJFLAG_PROGRESSIVE}) {
      const Wanted w{.width_px = 160, .height_px = 120, .sampling = sampling, .quality = 95, .flags = flags};
      LumaGrid grid;
      ASSERT_TRUE(compute_luma_grid(make_jpeg(w), grid).has_value());
      ASSERT_EQ(grid.width, 20);
      ASSERT_EQ(grid.height, 15);
      ASSERT_EQ(grid.cells.size(), 300u);
      EXPECT_FALSE(grid.damaged);
      for (int y = 0; y < 15; ++y) {
        for (int x = 0; x < 20; ++x) {
          ASSERT_NEAR(grid.cells[static_cast<std::size_t>(y * 20 + x)], mean_of(w, x, y), 3.0)
              << x << "," << y;
        }
      }
    }
  }
}

TEST(LumaGrid, OddSizesRoundUp) {
  LumaGrid grid;
  ASSERT_TRUE(compute_luma_grid(make_jpeg({.width_px = 401, .height_px = 297}), grid).has_value());
  EXPECT_EQ(grid.width, 51);
  EXPECT_EQ(grid.height, 38);
  EXPECT_EQ(grid.cells.size(), 51u * 38u);
}

TEST(LumaGrid, MemoryIsReused) {
  LumaGrid grid;
  ASSERT_TRUE(compute_luma_grid(make_jpeg({.width_px = 640, .height_px = 480}), grid).has_value());
  const auto* memory = grid.cells.data();
  ASSERT_TRUE(compute_luma_grid(make_jpeg({.width_px = 320, .height_px = 240}), grid).has_value());
  EXPECT_EQ(grid.cells.data(), memory);
  EXPECT_EQ(grid.width, 40);
}

TEST(LumaGrid, DamagedDataIsUsableAndFlagged) {
  const Wanted w{.width_px = 320, .height_px = 240};
  const Jpeg whole = make_jpeg(w);
  // The bottom half is missing but the end marker is there: only the decoder notices.
  const Jpeg cut =
      joined({std::span(whole).first(whole.size() / 2), bytes_from(std::string_view("\0\xFF\xD9", 3))});
  LumaGrid grid;
  ASSERT_TRUE(compute_luma_grid(cut, grid).has_value());
  EXPECT_TRUE(grid.damaged);
  EXPECT_EQ(grid.width, 40);
  EXPECT_NEAR(grid.cells[0], mean_of(w, 0, 0), 6.0);
  ASSERT_TRUE(compute_luma_grid(whole, grid).has_value());
  EXPECT_FALSE(grid.damaged);
}

TEST(LumaGrid, ThreadsDoNotDisturbOneAnother) {
  std::vector<Jpeg> pictures;
  std::vector<LumaGrid> alone(4);
  for (std::size_t i = 0; i < alone.size(); ++i) {
    pictures.push_back(make_jpeg({.width_px = 160 + 80 * static_cast<int>(i), .height_px = 120}));
    ASSERT_TRUE(compute_luma_grid(pictures[i], alone[i]).has_value());
  }
  std::vector<int> wrong(alone.size());
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < alone.size(); ++i) {
    threads.emplace_back([&, i] {
      LumaGrid grid;
      for (std::size_t n = 0; n < 40; ++n) {
        const std::size_t which = (i + n) % alone.size();
        if (!compute_luma_grid(pictures[which], grid) || grid.cells != alone[which].cells) ++wrong[i];
      }
    });
  }
  for (auto& thread : threads) thread.join();
  EXPECT_EQ(wrong, std::vector<int>(alone.size()));
}

TEST(LumaGrid, BrokenPicturesAreRefusedWithTheReason) {
  LumaGrid grid;
  const Jpeg whole = make_jpeg({});
  const auto cut = compute_luma_grid(std::span(whole).first(100), grid);
  ASSERT_FALSE(cut.has_value());
  EXPECT_EQ(cut.error().code, base::ErrorCode::malformed);
  EXPECT_NE(cut.error().text().find("cut off"), std::string::npos);

  Jpeg huge = whole;
  const std::size_t sof = place_of(huge, 0xC0);
  for (std::size_t i = 5; i <= 8; ++i) huge[sof + i] = std::byte{0xFF};
  EXPECT_EQ(compute_luma_grid(huge, grid).error().code, base::ErrorCode::too_large);
}

}  // namespace
}  // namespace rookery::jpeg
