// The skimmer takes the pictures that it is for, leaves the others, and notices what cannot be.
#include "jpeg/dc_skim.h"

#include <gtest/gtest.h>

#include "jpeg/scale.h"
#include "jpeg/skim_tables.h"

#include "tests/jpeg/jpeg_support.h"
#include "tests/jpeg/skim_support.h"

namespace rookery::jpeg {
namespace {

SkimResult skim(std::span<const std::byte> jpeg) {
  LumaGrid grid;
  return skim_luma_grid(jpeg, grid);
}

// What is left to libjpeg-turbo still gives its grid.
void expect_left_out(const std::vector<std::byte>& jpeg) {
  EXPECT_EQ(skim(jpeg), SkimResult::left_out);
  LumaGrid grid;
  ASSERT_TRUE(compute_luma_grid(jpeg, grid).has_value());
  EXPECT_FALSE(grid.damaged);
  EXPECT_EQ(grid.cells, decode_eighth(jpeg).grid.cells);
}

// A grey picture of `blocks` blocks in a row, with the standard tables and these bits as data ("01 1010").
std::vector<std::byte> with_bits(int blocks, std::string_view bits, int quality = 100) {
  auto jpeg = make({.width_px = 8 * blocks,
                    .height_px = 8,
                    .components = 1,
                    .luma_across = 1,
                    .luma_down = 1,
                    .quality = quality});
  jpeg.resize(place_of(jpeg, 0xDA) + 10);
  int have = 0;
  unsigned byte = 0;
  const auto put = [&](unsigned bit) {
    byte = byte << 1 | bit;
    if (++have % 8 != 0) return;
    jpeg.push_back(static_cast<std::byte>(byte & 0xFF));
    if ((byte & 0xFF) == 0xFF) jpeg.push_back(std::byte{0});
  };
  for (const char c : bits) {
    if (c != ' ') put(c == '1');
  }
  while (have % 8 != 0) put(1);
  jpeg.push_back(std::byte{0xFF});
  jpeg.push_back(std::byte{0xD9});
  return jpeg;
}

// T.81 tables K.3 and K.5.
constexpr std::string_view kNoDifference = "00 ";
constexpr std::string_view kMost = "111111110 11111111111 ";  // size 11: +2047
constexpr std::string_view kBlockEnd = "1010 ";
constexpr std::string_view kSixteenZeros = "11111111001 ";
constexpr std::string_view kOne = "00 1 ";  // run 0, size 1: a coefficient of 1

std::string repeated(std::string_view text, int times) {
  std::string out;
  for (int i = 0; i < times; ++i) out += text;
  return out;
}
std::string operator+(std::string_view a, const std::string& b) { return std::string(a) + b; }
std::string operator+(const std::string& a, std::string_view b) { return a + std::string(b); }

TEST(DcSkim, ABlockMayEndWithItsLastCoefficientOrWithACode) {
  const std::string full = kNoDifference + repeated(kOne, 63);
  EXPECT_EQ(skim(with_bits(1, full)), SkimResult::done);
  EXPECT_EQ(skim(with_bits(3, repeated(full, 3))), SkimResult::done);
  EXPECT_EQ(skim(with_bits(1, kNoDifference + repeated(kOne, 62) + kBlockEnd)), SkimResult::done);
  EXPECT_EQ(skim(with_bits(1, kNoDifference + repeated(kSixteenZeros, 3) + repeated(kOne, 15))),
            SkimResult::done);
}

TEST(DcSkim, MoreThan63CoefficientsAreDamage) {
  EXPECT_EQ(skim(with_bits(1, kNoDifference + repeated(kSixteenZeros, 4))), SkimResult::damaged);
  EXPECT_EQ(skim(with_bits(1, kNoDifference + repeated(kOne, 50) + kSixteenZeros + repeated(kOne, 9))),
            SkimResult::damaged);
}

TEST(DcSkim, ACodeOfNoTableIsDamage) {
  const std::string block = kNoDifference + std::string(kBlockEnd);
  EXPECT_EQ(skim(with_bits(2, block + block)), SkimResult::done);
  EXPECT_EQ(skim(with_bits(2, block + "111111111 " + kBlockEnd)), SkimResult::damaged);
  EXPECT_EQ(skim(with_bits(2, block + kNoDifference + "1111111111111111 " + kBlockEnd)), SkimResult::damaged);
}

TEST(DcSkim, BitsBehindTheLastBlockAreNotTakenForACode) {
  // The last byte's filling is ones, the begin of a code that the table lacks.
  for (int blocks = 1; blocks < 9; ++blocks) {
    EXPECT_EQ(skim(with_bits(blocks, repeated("00 1010 ", blocks))), SkimResult::done) << blocks;
  }
}

TEST(DcSkim, DcBeyondEightBitSamplesIsDamage) {
  const std::string most = kMost + std::string(kBlockEnd);
  // Quantization by 1 at quality 100: 1024 is as far as samples go, and by 16 at 50.
  EXPECT_EQ(skim(with_bits(1, most)), SkimResult::damaged);
  const std::string thousand = "11111110 1111101000 1010 ";  // size 10: +1000
  EXPECT_EQ(skim(with_bits(1, thousand)), SkimResult::done);
  EXPECT_EQ(skim(with_bits(2, thousand + thousand)), SkimResult::damaged);
  EXPECT_EQ(skim(with_bits(1, thousand, 50)), SkimResult::damaged);
  EXPECT_EQ(skim(with_bits(1, "1110 111111 1010", 50)), SkimResult::done);  // 63 · 16 = 1008
}

TEST(DcSkim, TooFewBlocksAndTooManyBytesAreDamage) {
  const auto jpeg = make({.width_px = 320, .height_px = 240});
  EXPECT_EQ(skim(jpeg), SkimResult::done);
  for (const int height_px : {224, 256, 480}) {
    auto other = jpeg;
    other[place_of(other, 0xC0) + 5] = static_cast<std::byte>(height_px >> 8);
    other[place_of(other, 0xC0) + 6] = static_cast<std::byte>(height_px & 0xFF);
    EXPECT_EQ(skim(other), SkimResult::damaged) << height_px;
    LumaGrid grid;
    ASSERT_TRUE(compute_luma_grid(other, grid).has_value());
    EXPECT_TRUE(grid.damaged);
    EXPECT_EQ(grid.cells, decode_eighth(other).grid.cells);
  }
}

TEST(DcSkim, AFewBytesOfFillingAreNoDamage) {
  const auto jpeg = make({});
  for (std::size_t more = 0; more < 12; ++more) {
    auto filled = jpeg;
    filled.insert(filled.end() - 2, more, std::byte{0});
    EXPECT_EQ(skim(filled), more < 8 ? SkimResult::done : SkimResult::damaged) << more;
  }
}

TEST(DcSkim, AMissingRestartMarkerIsDamage) {
  auto jpeg = make({.width_px = 160, .height_px = 16, .restart_mcus = 5});  // ten MCUs: one marker
  EXPECT_EQ(skim(jpeg), SkimResult::done);
  const auto at = static_cast<std::ptrdiff_t>(place_of(jpeg, 0xD0));
  auto with_last = jpeg;
  for (const int code : {0xD1, 0xFF}) with_last.insert(with_last.end() - 2, static_cast<std::byte>(code));
  std::swap(with_last[with_last.size() - 4], with_last[with_last.size() - 3]);
  EXPECT_EQ(skim(with_last), SkimResult::done) << "one behind the last interval is tolerated";
  jpeg.erase(jpeg.begin() + at, jpeg.begin() + at + 2);
  EXPECT_EQ(skim(jpeg), SkimResult::damaged);
}

TEST(DcSkim, KindsThatAreLeftOut) {
  expect_left_out(make({.scans = Scans::progressive}));
  expect_left_out(make({.scans = Scans::a_component_each}));
  expect_left_out(make({.luma_across = 1, .luma_down = 1, .rgb = true}));
  // Luma sampled less than a colour: libjpeg makes an eighth of it from more than DC.
  expect_left_out(make({.luma_across = 1, .luma_down = 1, .blue_across = 2, .blue_down = 2}));
  expect_left_out(make({.luma_across = 2, .luma_down = 1, .blue_across = 1, .blue_down = 2}));
}

// Without Huffman tables the standard ones are meant, and not those of the picture before.
TEST(DcSkim, APictureWithoutHuffmanTables) {
  auto bare = make({.width_px = 160, .height_px = 120});
  bare.erase(bare.begin() + static_cast<std::ptrdiff_t>(place_of(bare, 0xC4)),
             bare.begin() + static_cast<std::ptrdiff_t>(place_of(bare, 0xDA)));
  LumaGrid grid;
  EXPECT_EQ(skim_luma_grid(bare, grid), SkimResult::done);
  const auto expected = decode_eighth(bare);
  EXPECT_FALSE(expected.grid.damaged);
  EXPECT_EQ(grid.cells, expected.grid.cells);

  const auto scaled = compute_scaled(bare, 80, 90);
  ASSERT_TRUE(scaled.has_value());
  auto damaged = bare;
  damaged.erase(damaged.end() - 60, damaged.end() - 2);
  LumaGrid other;
  ASSERT_TRUE(compute_luma_grid(make({.scans = Scans::progressive}), other).has_value());
  ASSERT_TRUE(compute_luma_grid(damaged, grid).has_value());
  EXPECT_EQ(grid.cells, decode_eighth(damaged).grid.cells);
  ASSERT_TRUE(compute_luma_grid(make({.scans = Scans::progressive}), other).has_value());
  EXPECT_EQ(*compute_scaled(bare, 80, 90), *scaled);
}

// TurboJPEG reports a picture that it gave up on as one that it warned of, if it had warned before.
TEST(DcSkim, WhatTheDecoderGivesUpOnShowsNothingOfThePictureBefore) {
  auto refused = make({.width_px = 160, .height_px = 120});
  refused[place_of(refused, 0xE0) + 9] = std::byte{5};    // JFIF of a version that is not known: a warning
  refused[place_of(refused, 0xC4) + 32] = std::byte{26};  // the last DC size, which does not occur: an error
  EXPECT_EQ(skim(refused), SkimResult::left_out);
  LumaGrid grid;
  ASSERT_TRUE(compute_luma_grid(make({.width_px = 160, .height_px = 120}), grid).has_value());
  ASSERT_TRUE(compute_scaled(make({.width_px = 160, .height_px = 120}), 80, 90).has_value());
  if (compute_luma_grid(refused, grid)) {
    EXPECT_TRUE(grid.damaged);
    EXPECT_EQ(grid.cells, std::vector<std::uint8_t>(20 * 15, 128));
  }
  const auto scaled = compute_scaled(refused, 80, 90);
  if (!scaled) return;
  ASSERT_TRUE(compute_luma_grid(**scaled, grid).has_value());
  EXPECT_EQ(grid.cells, std::vector<std::uint8_t>(10 * 8, 128));
}

TEST(DcSkim, TheSameTablesAreMadeOnce) {
  const auto spec = [](int symbol) {
    HuffmanSpec s;
    s.counts[1] = 2;
    s.symbols[1] = static_cast<std::uint8_t>(symbol);
    return s;
  };
  const auto first = skim_tables(spec(1), spec(2));
  EXPECT_EQ(skim_tables(spec(1), spec(2)), first);
  EXPECT_NE(skim_tables(spec(1), spec(3)), first);
  for (int i = 4; i < 40; ++i) EXPECT_NE(skim_tables(spec(1), spec(i)), nullptr);
  EXPECT_EQ(first->dc_spec, spec(1)) << "tables in use outlive their place among the kept ones";
}

TEST(DcSkim, TablesThatMakeNoCodeAreRefused) {
  HuffmanSpec full;
  full.counts[0] = 2;  // all ones is a code
  EXPECT_FALSE(makes_a_code(full));
  EXPECT_EQ(skim_tables(full, {}), nullptr);
  HuffmanSpec crowded;
  crowded.counts[2] = 9;
  EXPECT_FALSE(makes_a_code(crowded));
  EXPECT_TRUE(makes_a_code({}));
  HuffmanSpec large;
  large.counts[1] = 1;
  large.symbols[0] = 16;
  EXPECT_EQ(skim_tables(large, {}), nullptr);
  EXPECT_NE(skim_tables({}, large), nullptr);
}

TEST(LumaGridPair, EachHasItsOwnResult) {
  const auto good = make({.width_px = 160, .height_px = 120});
  const auto progressive = make({.width_px = 96, .height_px = 80, .scans = Scans::progressive});
  auto damaged = good;
  damaged.erase(damaged.end() - 40, damaged.end() - 2);
  const auto cut = std::span(good).first(100);
  LumaGrid a, b;
  const auto both = compute_luma_grids(good, a, progressive, b);
  ASSERT_TRUE(both.first.has_value() && both.second.has_value());
  EXPECT_EQ(a.cells, decode_eighth(good).grid.cells);
  EXPECT_EQ(b.cells, decode_eighth(progressive).grid.cells);
  const auto worse = compute_luma_grids(damaged, a, good, b);
  ASSERT_TRUE(worse.first.has_value() && worse.second.has_value());
  EXPECT_TRUE(a.damaged);
  EXPECT_FALSE(b.damaged);
  const auto one = compute_luma_grids(cut, a, good, b);
  EXPECT_FALSE(one.first.has_value());
  ASSERT_TRUE(one.second.has_value());
  EXPECT_EQ(b.cells, decode_eighth(good).grid.cells);
}

}  // namespace
}  // namespace rookery::jpeg
