// Whatever baseline picture comes, the skimmer's grid is libjpeg-turbo's; and whatever damage comes, it says
// so or its grid is still libjpeg-turbo's.
#include <cstdlib>
#include <thread>

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "jpeg/dc_skim.h"
#include "jpeg/walk.h"
#include "tests/jpeg/skim_support.h"

namespace rookery::jpeg {
namespace {

// Pictures of up to 200×200 px at some 100 µs each; RC_PARAMS from outside wins.
[[maybe_unused]] const int kRuns = ::setenv("RC_PARAMS", "max_success=1000", 0);

int any_divisor(int of) {
  std::vector<int> divisors;
  for (int i = 1; i <= of; ++i) {
    if (of % i == 0) divisors.push_back(i);
  }
  return *rc::gen::elementOf(divisors);
}

std::string text_of(const Make& m) {
  return fmt::format(
      "{}x{} px, {} components {}x{} {}x{} {}x{}, quality {}, restart {}, tables {}, content {}, "
      "seed {}",
      m.width_px, m.height_px, m.components, m.luma_across, m.luma_down, m.blue_across, m.blue_down,
      m.red_across, m.red_down, m.quality, m.restart_mcus, static_cast<int>(m.tables),
      static_cast<int>(m.content), m.seed);
}

// Any picture that is skimmed: luma has the largest factors, and at most ten blocks are in an MCU.
Make any_make() {
  Make m;
  m.components = *rc::gen::element(1, 3, 3, 3);
  do {
    m.luma_across = *rc::gen::inRange(1, 5);
    m.luma_down = *rc::gen::inRange(1, 5);
    m.blue_across = any_divisor(m.luma_across);
    m.blue_down = any_divisor(m.luma_down);
    m.red_across = any_divisor(m.luma_across);
    m.red_down = any_divisor(m.luma_down);
  } while (m.luma_across * m.luma_down + m.blue_across * m.blue_down + m.red_across * m.red_down > 10);
  m.width_px = *rc::gen::inRange(1, 200);
  // TurboJPEG takes the largest scale that fits the cells asked for: 1/8 for all but a few pixels.
  m.height_px = *rc::gen::inRange(5, 200);
  m.quality = *rc::gen::inRange(1, 101);
  m.restart_mcus = *rc::gen::element(0, 0, 1, 2, 3, 7, 40, 65535);
  m.tables = static_cast<Tables>(*rc::gen::inRange(0, 3));
  m.content = static_cast<Content>(*rc::gen::inRange(0, kContents));
  m.seed = *rc::gen::inRange(1u, 100000u);
  RC_LOG() << text_of(m) << '\n';
  return m;
}

void expect_as_decoded(const std::vector<std::byte>& jpeg, SkimResult result, const LumaGrid& grid) {
  const Reference reference = decode_eighth(jpeg);
  RC_ASSERT(result == SkimResult::done);
  RC_ASSERT(!reference.grid.damaged);
  RC_ASSERT(grid.width == reference.grid.width);
  RC_ASSERT(grid.height == reference.grid.height);
  RC_ASSERT(grid.cells == reference.grid.cells);
}

RC_GTEST_PROP(DcSkimProperty, AnyBaselinePictureGivesTheDecodersEighth, ()) {
  const auto jpeg = make(any_make());
  LumaGrid grid;
  expect_as_decoded(jpeg, skim_luma_grid(jpeg, grid), grid);
}

RC_GTEST_PROP(DcSkimProperty, TwoInTurnsGiveWhatEachGivesAlone, ()) {
  const auto a = make(any_make());
  const auto b = make(any_make());
  LumaGrid grid_a, grid_b;
  const auto [result_a, result_b] = skim_luma_grids({a, &grid_a}, {b, &grid_b});
  expect_as_decoded(a, result_a, grid_a);
  expect_as_decoded(b, result_b, grid_b);
}

// A picture with a bit of everything, small enough to be damaged at every bit.
Make small_make(int restart_mcus) {
  return {.width_px = 60,
          .height_px = 44,
          .luma_across = 2,
          .luma_down = 1,
          .quality = 60,
          .restart_mcus = restart_mcus,
          .seed = 7};
}

std::size_t scan_begin(const std::vector<std::byte>& jpeg) {
  std::size_t i = 0;
  while (jpeg[i] != std::byte{0xFF} || jpeg[i + 1] != std::byte{0xDA}) ++i;
  return i + 2 + 12;
}

// Holds what luma_grid.h and dc_skim.h promise of a picture of which nothing is known.
void expect_promises(const std::vector<std::byte>& jpeg, const std::string& what) {
  if (!std::holds_alternative<PictureInfo>(walk(jpeg))) return;
  LumaGrid skimmed, grid;
  const SkimResult result = skim_luma_grid(jpeg, skimmed);
  const Reference reference = decode_eighth(jpeg);
  if (result == SkimResult::done && !reference.failed) {
    ASSERT_EQ(skimmed.cells, reference.grid.cells) << what;
  }
  if (!compute_luma_grid(jpeg, grid)) return;
  ASSERT_TRUE(grid.damaged || result != SkimResult::damaged) << what;
  ASSERT_TRUE(reference.failed || grid.cells == reference.grid.cells) << what;
}

TEST(DcSkimDamage, CutAnywhereIsNoticedAndNothingIsReadBeyond) {
  for (const int restart_mcus : {0, 3}) {
    const auto whole = make(small_make(restart_mcus));
    const std::size_t begin = scan_begin(whole);
    for (std::size_t size = 2; size < whole.size(); ++size) {
      // A thread of its own has memory of its own, of no more than this picture needs: what is read beyond
      // it shows under AddressSanitizer.
      std::thread([&] {
        const std::vector<std::byte> cut(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(size));
        LumaGrid grid;
        EXPECT_NE(skim_luma_grid(cut, grid), SkimResult::done) << size;
        auto ended = cut;
        ended.insert(ended.end(), {std::byte{0xFF}, std::byte{0xD9}});
        if (size < begin || size + 2 >= whole.size()) return;  // the data is whole
        EXPECT_EQ(skim_luma_grid(ended, grid), SkimResult::damaged) << size;
        expect_promises(ended, "cut at " + std::to_string(size));
      }).join();
    }
  }
}

TEST(DcSkimDamage, AnyFlippedBitIsReadAsTheDecoderReadsItAndNoticedMoreOften) {
  int flips = 0;
  int noticed = 0;
  int decoder_noticed = 0;
  int only_decoder_noticed = 0;
  for (const int restart_mcus : {0, 3}) {
    const auto whole = make(small_make(restart_mcus));
    const std::size_t begin = scan_begin(whole);
    for (std::size_t at = 2; at + 2 < whole.size(); ++at) {
      for (int bit = 0; bit < 8; ++bit) {
        auto flipped = whole;
        flipped[at] ^= static_cast<std::byte>(1 << bit);
        expect_promises(flipped, std::to_string(at) + "." + std::to_string(bit));
        if (HasFatalFailure()) return;
        if (at < begin || !std::holds_alternative<PictureInfo>(walk(flipped))) continue;
        LumaGrid grid;
        const bool seen = skim_luma_grid(flipped, grid) == SkimResult::damaged;
        const bool decoder_seen = decode_eighth(flipped).grid.damaged;
        flips += 1;
        noticed += seen ? 1 : 0;
        decoder_noticed += decoder_seen ? 1 : 0;
        only_decoder_noticed += decoder_seen && !seen ? 1 : 0;
      }
    }
  }
  RecordProperty("flips", flips);
  RecordProperty("noticed", noticed);
  RecordProperty("noticed_by_the_decoder", decoder_noticed);
  RecordProperty("noticed_by_the_decoder_alone", only_decoder_noticed);
  // Most flips change a magnitude or shift a few codes, which nobody can tell.
  EXPECT_GT(noticed, decoder_noticed);
  EXPECT_LT(only_decoder_noticed * 100, flips);
}

RC_GTEST_PROP(DcSkimProperty, DamagedPicturesInTurnsDoNotDisturbEachOther, ()) {
  const auto a = make(any_make());
  auto b = make(any_make());
  const auto begin = scan_begin(b) - 6;
  for (int i = *rc::gen::inRange(1, 6); i > 0; --i) {
    b[*rc::gen::inRange(begin, b.size())] = static_cast<std::byte>(*rc::gen::inRange(0, 256));
  }
  LumaGrid grid_a, grid_b, alone;
  const SkimResult expected = skim_luma_grid(b, alone);
  const auto [result_b, result_a] = skim_luma_grids({b, &grid_b}, {a, &grid_a});
  expect_as_decoded(a, result_a, grid_a);
  RC_ASSERT(result_b == expected);
  if (expected == SkimResult::done) RC_ASSERT(grid_b.cells == alone.cells);
  const auto [again_a, again_b] = skim_luma_grids({a, &grid_a}, {b, &grid_b});
  expect_as_decoded(a, again_a, grid_a);
  RC_ASSERT(again_b == expected);
}

}  // namespace
}  // namespace rookery::jpeg
