// Flicker is taken out, what stays is left, noise is not shown.
#include "vision/lapse_levels.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <numeric>
#include <random>

#include "vision/lapse_measures.h"

namespace rookery::vision {
namespace {

constexpr int kWidth = 160;
constexpr int kHeight = 120;

// A picture that owns its planes, 4:2:2.
struct Picture {
  std::vector<std::uint8_t> luma = std::vector<std::uint8_t>(std::size_t{kWidth} * kHeight);
  std::vector<std::uint8_t> blue = std::vector<std::uint8_t>(std::size_t{kWidth / 2} * kHeight, 120);
  std::vector<std::uint8_t> red = std::vector<std::uint8_t>(std::size_t{kWidth / 2} * kHeight, 140);
  PictureView view() {
    return {.luma = {luma.data(), kWidth, kHeight, kWidth},
            .blue = {blue.data(), kWidth / 2, kHeight, kWidth / 2},
            .red = {red.data(), kWidth / 2, kHeight, kWidth / 2}};
  }
  double mean() const {
    return std::accumulate(luma.begin(), luma.end(), 0.0) / static_cast<double>(luma.size());
  }
};

double ground(int x, int y) { return 50 + 100 * ((x / 10 * 7 + y / 8 * 5) % 13) / 13.0; }

// `light` of x, y, in factors; noise of one level, and a dark head at head_x.
Picture picture(const auto& light, unsigned seed, int head_x = -100, double noise = 1) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, std::max(noise, 1e-9));
  Picture p;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const bool head = std::abs(x - head_x) < 16 && y > 20 && y < 70;
      const double level = (head ? 20 : ground(x, y)) * light(x, y) + normal(random);
      p.luma[static_cast<std::size_t>(y * kWidth + x)] =
          static_cast<std::uint8_t>(std::clamp(std::round(level), 0.0, 255.0));
    }
  }
  return p;
}

std::vector<LevelSample> samples_of(std::vector<Picture>& film) {
  std::vector<LevelSample> samples;
  for (Picture& p : film) samples.push_back(sample_levels(p.view()).value());
  return samples;
}

std::vector<LevelCorrection> plan(std::vector<Picture>& film, const LevelOptions& options = {}) {
  auto planned = plan_levels(samples_of(film), options);
  EXPECT_TRUE(planned);
  return std::move(planned.value());
}

std::vector<double> means(const std::vector<Picture>& film) {
  std::vector<double> out;
  for (const Picture& p : film) out.push_back(p.mean());
  return out;
}

void level(std::vector<Picture>& film, const std::vector<LevelCorrection>& corrections) {
  for (std::size_t i = 0; i < film.size(); ++i) apply_levels(corrections[i], film[i].view());
}

TEST(LapseLevels, WhatIsConstantStaysAsItIs) {
  std::vector<Picture> film(30, picture([](int, int) { return 1.0; }, 1));
  const auto before = film;
  const auto corrections = plan(film);
  ASSERT_EQ(corrections.size(), 30U);
  for (const LevelCorrection& c : corrections) {
    EXPECT_EQ(c.gain, 1);
    EXPECT_EQ(c.blue_shift, 0);
    EXPECT_EQ(c.red_shift, 0);
    EXPECT_TRUE(c.rows.empty());
    EXPECT_FALSE(c.limited || c.lamp_switched);
  }
  level(film, corrections);
  for (std::size_t i = 0; i < film.size(); ++i) {
    EXPECT_EQ(film[i].luma, before[i].luma);
    EXPECT_EQ(film[i].blue, before[i].blue);
    EXPECT_EQ(film[i].red, before[i].red);
  }
}

TEST(LapseLevels, CoarseSamplesLevelAsWellAndHoldAQuarter) {
  std::mt19937 random(4);
  std::uniform_real_distribution<double> gain(0.85, 1.15);
  std::vector<Picture> film;
  for (unsigned i = 0; i < 60; ++i) {
    const double g = gain(random);
    film.push_back(picture([g](int, int) { return g; }, i));
  }
  const double before = flicker(means(film));
  std::vector<LevelSample> samples;
  for (Picture& p : film) samples.push_back(sample_levels(p.view(), true).value());
  const auto bytes = [](const LevelSample& s) {
    return sizeof(float) * (s.cells.size() + s.blue.size() + s.red.size());
  };
  EXPECT_LE(4 * bytes(samples.front()), bytes(sample_levels(film.front().view()).value()));
  EXPECT_LE(bytes(samples.front()), 5500U);
  LevelOptions options;
  options.bands = false;
  level(film, plan_levels(samples, options).value());
  EXPECT_LT(flicker(means(film)), 0.15 * before);
}

TEST(LapseLevels, ExposureThatFlickersIsLevelled) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> gain(0.85, 1.15);
  std::vector<Picture> film;
  for (unsigned i = 0; i < 60; ++i) {
    const double g = gain(random);
    film.push_back(picture([g](int, int) { return g; }, i));
  }
  const double before = flicker(means(film));
  level(film, plan(film));
  EXPECT_LT(flicker(means(film)), 0.1 * before);
}

TEST(LapseLevels, AHeadThatMovesChangesNothing) {
  std::vector<Picture> film;
  for (unsigned i = 0; i < 40; ++i)
    film.push_back(picture([](int, int) { return 1.0; }, i, 30 + static_cast<int>(i * 37 % 100)));
  for (const LevelCorrection& c : plan(film)) {
    EXPECT_NEAR(c.gain, 1, 0.01);
    EXPECT_TRUE(c.rows.empty());
  }
}

TEST(LapseLevels, ALampIsACleanStep) {
  std::vector<Picture> film;
  for (unsigned i = 0; i < 60; ++i) {
    const double g = i < 30 ? 1.0 : 0.45;
    film.push_back(picture([g](int, int) { return g; }, i));
  }
  const auto corrections = plan(film);
  for (std::size_t i = 0; i < corrections.size(); ++i) {
    EXPECT_EQ(corrections[i].lamp_switched, i == 30) << i;
    EXPECT_NEAR(corrections[i].gain, 1, 0.01) << i;
  }
}

TEST(LapseLevels, ASmallStepBecomesARamp) {
  std::vector<Picture> film;
  for (unsigned i = 0; i < 60; ++i) {
    const double g = i < 30 ? 1.0 : 1.15;
    film.push_back(picture([g](int, int) { return g; }, i));
  }
  level(film, plan(film));
  const auto levels = means(film);
  for (std::size_t i = 1; i < levels.size(); ++i)
    EXPECT_LT(std::abs(levels[i] / levels[i - 1] - 1), 0.02) << i;
  EXPECT_NEAR(levels.back() / levels.front(), 1.15, 0.01);
}

TEST(LapseLevels, AFlashIsTakenOutAsFarAsTheLimitGoes) {
  std::vector<Picture> film;
  for (unsigned i = 0; i < 40; ++i) {
    const double g = i == 20 ? 0.5 : 1.0;
    film.push_back(picture([g](int, int) { return g; }, i));
  }
  const auto corrections = plan(film);
  EXPECT_DOUBLE_EQ(corrections[20].gain, 1.41);
  EXPECT_TRUE(corrections[20].limited);
  EXPECT_FALSE(corrections[20].lamp_switched || corrections[21].lamp_switched);
  EXPECT_FALSE(corrections[19].limited);
}

TEST(LapseLevels, NoiseIsNotBrightenedToShow) {
  std::vector<Picture> film;
  for (unsigned i = 0; i < 40; ++i) {
    const double g = i % 5 == 2 ? 0.8 : 1.0;
    film.push_back(picture([g](int, int) { return g; }, i, -100, i % 5 == 2 ? 6 : 1));
  }
  const auto corrections = plan(film);
  for (std::size_t i = 0; i < corrections.size(); ++i) {
    if (i % 5 != 2) continue;
    EXPECT_EQ(corrections[i].gain, 1) << i;
    EXPECT_TRUE(corrections[i].limited);
  }
}

TEST(LapseLevels, BandsOfTheMainsAreTakenOff) {
  std::vector<Picture> film;
  for (unsigned i = 0; i < 40; ++i) {
    film.push_back(
        picture([i](int, int y) { return 1 + 0.08 * std::sin(6.2831853 * (3.2 * y / kHeight + 0.37 * i)); },
                i, 30 + static_cast<int>(i * 37 % 100)));
  }
  // How much the mean of a row that no head passes strays from frame to frame.
  const auto stray = [&] {
    double sum = 0;
    for (int y = 80; y < kHeight; ++y) {
      std::vector<double> rows;
      for (const Picture& p : film) {
        const auto* row = &p.luma[static_cast<std::size_t>(y * kWidth)];
        rows.push_back(std::accumulate(row, row + kWidth, 0.0) / kWidth);
      }
      sum += flicker(rows, 39);
    }
    return sum / (kHeight - 80);
  };
  const double before = stray();
  level(film, plan(film));
  EXPECT_LT(stray(), 0.2 * before);
}

TEST(LapseLevels, WhiteBalanceIsShiftedBack) {
  std::vector<Picture> film(40, picture([](int, int) { return 1.0; }, 1));
  for (std::size_t i = 0; i < film.size(); ++i) {
    if (i % 4 != 1) continue;
    for (auto& value : film[i].blue) value = static_cast<std::uint8_t>(value + 6);
    for (auto& value : film[i].red) value = static_cast<std::uint8_t>(value - 20);
  }
  const auto corrections = plan(film);
  EXPECT_NEAR(corrections[21].blue_shift, -6, 1e-6);
  EXPECT_NEAR(corrections[21].red_shift, 12, 1e-6);  // the most
  EXPECT_TRUE(corrections[21].limited);
  EXPECT_NEAR(corrections[20].blue_shift, 0, 1e-6);
  level(film, corrections);
  EXPECT_EQ(film[21].blue[7], film[20].blue[7]);
}

RC_GTEST_PROP(LapseLevels, KeepsItsLimits, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  LevelOptions o;
  o.window = *rc::gen::element(3, 15, 129);
  o.most_gain = *rc::gen::element(1.0, 1.1, 2.0);
  o.most_colour = *rc::gen::element(0.0, 3.0);
  const auto count = *rc::gen::inRange<std::size_t>(0, 40);
  std::vector<LevelSample> samples;
  for (std::size_t i = 0; i < count; ++i) {
    LevelSample s{4, 6, {}, {}, {}, static_cast<double>(random() % 8)};
    const auto base = static_cast<float>(random() % 256);
    for (int c = 0; c < 24; ++c)
      s.cells.push_back(std::min(255.0F, base + static_cast<float>(random() % 30)));
    for (int c = 0; c < 4; ++c) s.blue.push_back(static_cast<float>(random() % 255) - 128);
    s.red = s.blue;
    samples.push_back(std::move(s));
  }
  const auto planned = plan_levels(samples, o);
  RC_ASSERT(bool(planned));
  RC_ASSERT(planned.value().size() == count);
  for (std::size_t i = 0; i < count; ++i) {
    const LevelCorrection& c = planned.value()[i];
    RC_ASSERT(c.gain >= 1 / o.most_gain && c.gain <= o.most_gain);
    RC_ASSERT(c.gain <= 1 || c.gain * samples[i].noise <= o.most_noise + 1e-9);
    RC_ASSERT(std::abs(c.blue_shift) <= o.most_colour && std::abs(c.red_shift) <= o.most_colour);
    RC_ASSERT(c.rows.empty() || c.rows.size() == 6U);
    for (const float row : c.rows) RC_ASSERT(row >= 0.8F && row <= 1.25F);
  }
}

TEST(LapseLevels, RefusesInWords) {
  const LevelSample good{2, 2, {1, 2, 3, 4}, {}, {}, 1};
  const auto says = [](std::vector<LevelSample> samples, const LevelOptions& o) {
    const auto planned = plan_levels(samples, o);
    return planned ? std::string() : planned.error().detail;
  };
  EXPECT_EQ(says({}, {}), "");
  EXPECT_EQ(says({good}, {}), "");
  EXPECT_EQ(says({good, good}, {}), "");
  EXPECT_EQ(says({good, {2, 2, {1, 2, 3}, {}, {}, 1}}, {}), "frame 1: 3 cells for 2×2");
  EXPECT_EQ(says({good, {4, 1, {1, 2, 3, 4}, {}, {}, 1}}, {}),
            "frame 1 is of another size or kind than the first");
  EXPECT_EQ(says({good, {2, 2, {1, 2, 3, 4}, {1}, {1}, 1}}, {}),
            "frame 1 is of another size or kind than the first");
  EXPECT_EQ(says({{2, 2, {1, 2, 3, std::numeric_limits<float>::quiet_NaN()}, {}, {}, 1}}, {}),
            "frame 0: its levels or noise are no numbers of their range");
  EXPECT_EQ(says({{2, 2, {1, 2, 3, 4}, {}, {}, -1}}, {}),
            "frame 0: its levels or noise are no numbers of their range");
  EXPECT_EQ(says({}, {.window = 14}), "a window of 14 frames: give an odd number from 3 to 129");
  EXPECT_EQ(says({}, {.most_gain = 0.9}), "a gain of at most 0.9: give 1 to 2");
  EXPECT_EQ(says({}, {.most_noise = -1}), "at most 12 levels of colour and -1 of noise: give 0 to 40");
  EXPECT_EQ(says({}, {.lamp = std::numeric_limits<double>::quiet_NaN()}),
            "a lamp's step of nan: give 1.05 to 4");
  EXPECT_FALSE(sample_levels({}));
}

TEST(ApplyLevels, BlackStaysBlackAndWhiteWhite) {
  for (const bool full : {true, false}) {
    for (const double gain : {0.71, 0.9, 1.1, 1.41}) {
      Picture p;
      for (std::size_t i = 0; i < p.luma.size(); ++i) p.luma[i] = static_cast<std::uint8_t>(i % 256);
      PictureView view = p.view();
      view.full_range = full;
      LevelCorrection c;
      c.gain = gain;
      apply_levels(c, view);
      const std::size_t black = full ? 0 : 16;
      const std::size_t white = full ? 255 : 235;
      EXPECT_EQ(p.luma[black], black) << gain;
      EXPECT_EQ(p.luma[white], white) << gain;
      EXPECT_EQ(p.luma[255], 255);
      EXPECT_EQ(p.luma[0], 0);
      for (std::size_t i = 1; i < 256; ++i) EXPECT_GE(p.luma[i], p.luma[i - 1]) << i;
      EXPECT_NEAR(p.luma[100], static_cast<double>(black) + gain * (100 - static_cast<double>(black)), 0.51);
    }
  }
}

TEST(ApplyLevels, RowsHaveTheirOwnGain) {
  Picture p;
  std::ranges::fill(p.luma, std::uint8_t{100});
  LevelCorrection c;
  c.rows = {1.0F, 1.1F, 0.9F};
  apply_levels(c, p.view());
  EXPECT_EQ(p.luma[39 * kWidth], 100);
  EXPECT_EQ(p.luma[40 * kWidth], 110);
  EXPECT_EQ(p.luma[80 * kWidth], 90);
  EXPECT_EQ(p.luma[119 * kWidth + kWidth - 1], 90);
  EXPECT_EQ(p.blue[0], 120);
}

TEST(ApplyLevels, ColourKeepsItsDistanceAndPaddingIsLeft) {
  std::vector<std::uint8_t> luma(16 * 10, 100);
  std::vector<std::uint8_t> colour(8 * 4, 148);
  LevelCorrection c;
  c.gain = 1.2;
  c.red_shift = -3;
  apply_levels(
      c, {.luma = {luma.data(), 10, 10, 16}, .blue = {nullptr, 0, 0, 0}, .red = {colour.data(), 5, 4, 8}});
  EXPECT_EQ(luma[9], 120);
  EXPECT_EQ(luma[10], 100);
  EXPECT_EQ(colour[4], 149);  // 128 + 20·1.2 − 3
  EXPECT_EQ(colour[5], 148);
}

TEST(SampleLevels, OfALimitedRangeAreThoseOfAFullOne) {
  Picture p;
  std::ranges::fill(p.luma, std::uint8_t{235});
  std::ranges::fill(p.red, std::uint8_t{240});
  PictureView view = p.view();
  view.full_range = false;
  const auto sample = sample_levels(view);
  ASSERT_TRUE(sample);
  EXPECT_NEAR(sample.value().cells.front(), 255, 1e-3);
  EXPECT_NEAR(sample.value().red.back(), 127.5, 1e-3);
  EXPECT_EQ(sample.value().cells.size(), 40U * 120);
}

}  // namespace
}  // namespace rookery::vision
