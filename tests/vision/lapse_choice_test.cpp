// Which pictures make a lapse, what is learnt from them, and what is refused.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "tests/vision/lapse_shots.h"
#include "vision/lapse_window.h"

namespace rookery::vision {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

// A work of one shade that grows upward in the middle, and a dark head of 3×3 cells somewhere over it.
std::vector<std::uint8_t> picture(double grown, int head_x, int head_y, double gain = 1) {
  std::vector<std::uint8_t> cells;
  for (int y = 0; y < 15; ++y) {
    for (int x = 0; x < 20; ++x) {
      double level = 60 + 4 * ((x * 7 + y * 3) % 11);
      if (x >= 8 && x < 12 && y >= 14 - static_cast<int>(grown)) level = 170;
      if (std::abs(x - head_x) <= 1 && std::abs(y - head_y) <= 1) level = 15;
      cells.push_back(static_cast<std::uint8_t>(std::clamp(std::round(level * gain), 0.0, 255.0)));
    }
  }
  return cells;
}

// The head goes round over the work, once in 7 s; a row of the work takes 40 s.
int head_x(double s) { return 10 + static_cast<int>(std::lround(6 * std::cos(s * 2 * 3.14159265 / 7))); }
int head_y(double s) { return 5 + static_cast<int>(std::lround(3 * std::sin(s * 2 * 3.14159265 / 7))); }

std::vector<Shot> job(int seconds, const auto& gain) {
  std::vector<Shot> shots;
  for (int s = 0; s < seconds; ++s)
    shots.push_back({static_cast<double>(s), picture(s / 40.0, head_x(s), head_y(s), gain(s))});
  return shots;
}
std::vector<Shot> job(int seconds) {
  return job(seconds, [](int) { return 1.0; });
}

double head_steps(const LapseChoice& choice) {
  double sum = 0;
  for (std::size_t i = 1; i < choice.frames.size(); ++i) {
    const double a = choice.frames[i - 1].at_s;
    const double b = choice.frames[i].at_s;
    sum += std::hypot(head_x(b) - head_x(a), head_y(b) - head_y(a));
  }
  return sum / static_cast<double>(choice.frames.size() - 1);
}

TEST(LapseChoice, TheHeadStandsStill) {
  const auto shots = job(300);
  LapseOptions o = options_of(20, 15, 30);
  const auto likest = choose(o, shots);
  o.rule = LapseRule::even;
  const auto even = choose(o, shots);
  ASSERT_TRUE(likest && even);
  ASSERT_EQ(likest.value().frames.size(), 30U);
  EXPECT_LT(head_steps(likest.value()), 0.35 * head_steps(even.value()));
}

TEST(LapseChoice, LearnsWhatGrowsAndWhereTheHeadGoes) {
  const auto choice = choose(options_of(20, 15, 30), job(300));
  ASSERT_TRUE(choice);
  const auto at = [](int x, int y) { return static_cast<std::size_t>(y * 20 + x); };
  // Six rows of the work came within the 30 slots, the fourth from the bottom below the head's way.
  EXPECT_GT(choice.value().growth[at(9, 11)], 0);
  EXPECT_EQ(choice.value().head[at(9, 11)], 0);
  // Where only the head passes.
  EXPECT_GT(choice.value().head[at(16, 5)], 0.9F);
  EXPECT_EQ(choice.value().growth[at(16, 5)], 0);
  // Where nothing happens.
  EXPECT_EQ(choice.value().head[at(0, 14)], 0);
  EXPECT_EQ(choice.value().growth[at(0, 14)], 0);
}

TEST(LapseChoice, ExposureAloneDoesNotCount) {
  const auto plain = choose(options_of(20, 15, 30), job(300));
  LapseOptions o = options_of(20, 15, 30);
  o.weights.light = 0;
  // The same every 10 s, so that exposure would hold the head in another place if it counted.
  const auto lit = choose(o, job(300, [](int s) { return s / 10 % 2 == 0 ? 1.0 : 1.35; }));
  ASSERT_TRUE(plain && lit);
  EXPECT_NEAR(head_steps(lit.value()), head_steps(plain.value()), 0.3);
}

TEST(LapseChoice, StaysUnderOneLampWhereItCan) {
  // Every 10 s the lamp is off for 3 s, in the middle of the window.
  const auto shots = job(300, [](int s) { return s % 10 <= 1 || s % 10 == 9 ? 0.4 : 1.0; });
  const auto choice = choose(options_of(20, 15, 29), shots);
  ASSERT_TRUE(choice);
  for (const LapseFrame& frame : choice.value().frames) {
    const int s = static_cast<int>(frame.at_s);
    EXPECT_FALSE(s % 10 <= 1 || s % 10 == 9) << frame.at_s;
  }
}

TEST(LapseChoice, TheDarkIsBridged) {
  const auto lamp = [](int s) { return s >= 95 && s < 155 ? 0.4 : 1.0; };
  auto choice = choose(options_of(20, 15, 30), job(300, lamp));
  ASSERT_TRUE(choice);
  EXPECT_EQ(leave_out_dark(choice.value()), (std::vector<int>{10, 11, 12, 13, 14, 15}));
  EXPECT_EQ(choice.value().frames.size(), 24U);
  // All of it dark: then it is what there is.
  auto night = choose(options_of(20, 15, 30), job(300, [](int s) { return s < 50 ? 1.0 : 0.4; }));
  ASSERT_TRUE(night);
  EXPECT_TRUE(leave_out_dark(night.value()).empty());
  EXPECT_EQ(night.value().frames.size(), 30U);
  LapseChoice nothing;
  EXPECT_TRUE(leave_out_dark(nothing).empty());
}

TEST(LapseChoice, TakesNothingUnusableWhereItCan) {
  auto shots = job(100);
  for (int s = 0; s < 100; ++s) {
    Shot& shot = shots[static_cast<std::size_t>(s)];
    shot.sharpness = 100;
    const int in = s % 10;
    if (in == 0 || in == 6) shot.usable = false;
    if (in == 1 || in == 7) shot.dark = 0.5;
    if (in == 8) shot.sharpness = 45;
    if (in == 9) shot.sharpness = 5;
  }
  const auto choice = choose(options_of(20, 15, 10), shots);
  ASSERT_TRUE(choice);
  for (const LapseFrame& frame : choice.value().frames) {
    const int in = static_cast<int>(frame.at_s) % 10;
    EXPECT_TRUE(in >= 2 && in <= 4) << frame.at_s;
    EXPECT_EQ(frame.unusable, 0);
  }
}

TEST(LapseChoice, AWindowOfUnusableOnesIsFilledAndSaysSo) {
  auto shots = job(100);
  for (int s = 36; s <= 44; ++s) shots[static_cast<std::size_t>(s)].usable = false;
  const auto choice = choose(options_of(20, 15, 10), shots);
  ASSERT_TRUE(choice);
  ASSERT_EQ(choice.value().frames.size(), 10U);
  for (const LapseFrame& frame : choice.value().frames) EXPECT_EQ(frame.unusable, frame.slot == 4 ? 1 : 0);
}

TEST(LapseChoice, SaysWhichSlotsHaveNoPicture) {
  auto shots = job(100);
  std::erase_if(shots, [](const Shot& shot) { return shot.at_s > 35 && shot.at_s < 56; });
  std::erase_if(shots, [](const Shot& shot) { return shot.at_s > 84; });
  const auto choice = choose(options_of(20, 15, 11), shots);
  ASSERT_TRUE(choice);
  EXPECT_EQ(choice.value().empty_slots, (std::vector<int>{4, 5, 9, 10}));
  ASSERT_EQ(choice.value().frames.size(), 7U);
  EXPECT_EQ(choice.value().frames[4].slot, 6);
}

TEST(LapseChoice, FewPictures) {
  const auto none = choose(options_of(20, 15, 3), {});
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, base::ErrorCode::not_found);
  EXPECT_EQ(none.error().detail, "none of 0 pictures lies in the window of a slot");
  const auto one = choose(options_of(20, 15, 3), {{9, picture(0, 3, 3)}});
  ASSERT_TRUE(one);
  ASSERT_EQ(one.value().frames.size(), 1U);
  EXPECT_EQ(one.value().frames[0].slot, 1);
  EXPECT_EQ(one.value().empty_slots, (std::vector<int>{0, 2}));
  const auto two = choose(options_of(20, 15, 3), {{9, picture(0, 3, 3)}, {10, picture(0, 4, 3)}});
  ASSERT_TRUE(two);
  EXPECT_EQ(two.value().frames.size(), 1U);
  const auto outside = choose(options_of(20, 15, 3), {{5, picture(0, 3, 3)}, {99, picture(0, 4, 3)}});
  ASSERT_FALSE(outside);
  EXPECT_EQ(outside.error().detail, "none of 2 pictures lies in the window of a slot");
}

TEST(LapseChoice, AllUnusableIsAnErrorInWords) {
  auto shots = job(50);
  for (Shot& shot : shots) shot.usable = false;
  const auto choice = choose(options_of(20, 15, 5), shots);
  ASSERT_FALSE(choice);
  EXPECT_EQ(choice.error().code, base::ErrorCode::not_found);
  EXPECT_EQ(choice.error().detail,
            "none of 40 pictures is usable: they are damaged, blurred, dark or over-bright");
}

TEST(LapseChoice, RefusesPicturesInWords) {
  const struct {
    LapsePicture picture;
    const char* says;
  } kCases[] = {
      {{.at_s = 5}, "picture 1: 0 cells instead of 4×4"},
      {{.at_s = kNaN}, "picture 1: its time is no number"},
      {{.at_s = kInfinity}, "picture 1: its time is no number"},
      {{.at_s = 4}, "picture 1: at 4 s it is not after the one before, at 4 s"},
      {{.at_s = 3}, "picture 1: at 3 s it is not after the one before, at 4 s"},
      {{.at_s = 5, .dark_share = kNaN}, "picture 1: nan of it dark and 0 bright: give 0 to 1"},
      {{.at_s = 5, .bright_share = 1.5}, "picture 1: 0 of it dark and 1.5 bright: give 0 to 1"},
      {{.at_s = 5, .sharpness = kNaN}, "picture 1: a sharpness of nan: give 0 or more"},
      {{.at_s = 5, .sharpness = kInfinity}, "picture 1: a sharpness of inf: give 0 or more"},
  };
  const std::vector<std::uint8_t> cells(16, 100);
  for (const auto& c : kCases) {
    auto chooser = LapseChooser::make(options_of(4, 4, 3));
    ASSERT_TRUE(chooser);
    ASSERT_TRUE(chooser->add({.at_s = 4, .cells = cells}));
    LapsePicture picture = c.picture;
    if (&c != &kCases[0]) picture.cells = cells;
    const auto added = chooser->add(picture);
    ASSERT_FALSE(added) << c.says;
    EXPECT_EQ(added.error().code, base::ErrorCode::invalid_value);
    EXPECT_EQ(added.error().detail, c.says);
    // It goes on.
    ASSERT_TRUE(chooser->add({.at_s = 9, .cells = cells}));
    const auto choice = chooser->finish();
    ASSERT_TRUE(choice);
    EXPECT_EQ(choice.value().frames.back().picture, 1U);
  }
}

TEST(LapseChoice, RefusesOptionsInWords) {
  const LapseOptions good = options_of(40, 30, 10);
  ASSERT_TRUE(LapseChooser::make(good));
  const auto with = [&](const auto& change) {
    LapseOptions o = good;
    change(o);
    const auto made = LapseChooser::make(o);
    return made ? std::string() : made.error().detail;
  };
  EXPECT_EQ(with([](auto& o) { o.width = 3; }), "thumbnails of 3×30 cells: give 4 to 160");
  EXPECT_EQ(with([](auto& o) { o.height = 161; }), "thumbnails of 40×161 cells: give 4 to 160");
  EXPECT_EQ(with([](auto& o) { o.slots.every_s = 0; }),
            "slots from 0 s, every 0 s: give an interval above 0");
  EXPECT_EQ(with([](auto& o) { o.slots.every_s = kNaN; }),
            "slots from 0 s, every nan s: give an interval above 0");
  EXPECT_EQ(with([](auto& o) { o.slots.first_s = kInfinity; }),
            "slots from inf s, every 10 s: give an interval above 0");
  EXPECT_EQ(with([](auto& o) { o.slots.count = 0; }), "0 slots: give 1 to 200000");
  EXPECT_EQ(with([](auto& o) { o.window = 0.5; }), "a window of 0.5 intervals: give above 0 to below 0.5");
  EXPECT_EQ(with([](auto& o) { o.window = kNaN; }), "a window of nan intervals: give above 0 to below 0.5");
  EXPECT_EQ(with([](auto& o) { o.most_in_window = 1; }), "1 pictures in a window: give 2 to 250");
  EXPECT_EQ(with([](auto& o) { o.weights.head = -1; }), "a weight of -1: give 0 to 1e6");
  EXPECT_EQ(with([](auto& o) { o.weights.light = kNaN; }), "a weight of nan: give 0 to 1e6");
}

TEST(LapseSlots, ShareOutASpan) {
  const auto slots = share_out_slots(10, 100, 10);
  ASSERT_TRUE(slots);
  EXPECT_EQ(slots.value().first_s, 10);
  EXPECT_EQ(slots.value().every_s, 10);
  EXPECT_EQ(slots.value().count, 10);
  const auto one = share_out_slots(10, 100, 1);
  ASSERT_TRUE(one);
  EXPECT_EQ(one.value().first_s, 100);
  for (const auto& bad :
       {share_out_slots(10, 10, 5), share_out_slots(kNaN, 10, 5), share_out_slots(0, kInfinity, 5),
        share_out_slots(-1e308, 1e308, 5), share_out_slots(0, 10, 0)})
    EXPECT_FALSE(bad);
}

TEST(LapseChoice, OfTwoHundredThousandPicturesItKeepsLittle) {
  constexpr int kPictures = 200'000;
  LapseOptions o = options_of(8, 6, 1'000, 200);
  auto chooser = LapseChooser::make(o);
  ASSERT_TRUE(chooser);
  std::vector<std::uint8_t> cells(48);
  std::size_t most = 0;
  for (int i = 0; i < kPictures; ++i) {
    for (std::size_t c = 0; c < cells.size(); ++c)
      cells[c] = static_cast<std::uint8_t>(60 + c + (c == static_cast<std::size_t>(i / 3 % 48) ? 100 : 0));
    ASSERT_TRUE(chooser->add({.at_s = static_cast<double>(i), .cells = cells}));
    most = std::max(most, chooser->bytes());
  }
  const auto choice = chooser->finish();
  ASSERT_TRUE(choice);
  EXPECT_EQ(choice.value().frames.size(), 1'000U);
  EXPECT_TRUE(choice.value().empty_slots.empty());
  // 25 bytes for each of 120 pictures a slot and the windows; twice, for vectors grow by doubling.
  EXPECT_LT(most, 2U * (1'000 * 120 * 25 + 8 * 120 * (48 * 2 + sizeof(WindowPicture))));
}

TEST(LapseChoice, ManyPicturesOfAWindowAreThinnedEvenly) {
  LapseOptions o = options_of(4, 4, 3, 100);
  o.most_in_window = 4;
  std::vector<Shot> shots;
  for (int s = 0; s < 200; ++s)
    shots.push_back({static_cast<double>(s), std::vector<std::uint8_t>(16, 100), 0, 0, s % 10 == 7});
  const auto choice = choose(o, shots);
  ASSERT_TRUE(choice);
  for (const LapseFrame& frame : choice.value().frames) EXPECT_EQ(frame.unusable, 0) << frame.at_s;
}

}  // namespace
}  // namespace rookery::vision
