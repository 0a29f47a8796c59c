// What may happen to a print, and whether what is told of it is what the pictures show.
#include <gtest/gtest.h>

#include "sim/scene.h"

namespace rookery::sim {
namespace {

constexpr Size kSize{320, 240};
constexpr Size kTiny{160, 120};
constexpr double kBegin = 600;  // of what happens, seconds

SceneTime at(double s) { return SceneTime(static_cast<std::int64_t>(s * 1e6)); }

PrintJob job_with(std::vector<JobEvent> events, PrintedKind kind = PrintedKind::vase) {
  return {.kind = kind, .layer_seconds = 20, .from_start = true, .rest_s = 1e6, .events = std::move(events)};
}

std::unique_ptr<Scene> scene_with(std::string_view name, std::vector<JobEvent> events, Size size = kSize,
                                  PrintedKind kind = PrintedKind::vase) {
  auto made = make_printer_scene(name, 5, size, job_with(std::move(events), kind));
  EXPECT_TRUE(made) << (made ? "" : made.error().text());
  return std::move(*made);
}

JobEvent event(Mishap what, double length_s = 0, float strength = 1, int manner = 0) {
  return {what, kBegin, length_s, strength, static_cast<std::uint8_t>(manner)};
}

Picture drawn(Scene& scene, double s) {
  Picture picture(scene.size());
  Canvas canvas(picture);
  scene.draw(canvas, at(s));
  return picture;
}

Region joined(Region a, Region b) {
  if (a.width == 0) return b;
  if (b.width == 0) return a;
  const int left = std::min(a.x, b.x);
  const int top = std::min(a.y, b.y);
  return {left, top, std::max(a.x + a.width, b.x + b.width) - left,
          std::max(a.y + a.height, b.y + b.height) - top};
}

struct Changed {
  int inside = 0;
  int outside = 0;
};
// Pixels that differ by more than 12, in and out of a box that is widened to all sides.
Changed changed(const Picture& a, const Picture& b, Region box, int wider) {
  Changed all;
  for (int y = 0; y < a.size.height; ++y) {
    for (int x = 0; x < a.size.width; ++x) {
      const auto i = static_cast<std::size_t>(y * a.size.width + x);
      if (std::abs(a.y[i] - b.y[i]) <= 12) continue;
      const bool in = x >= box.x - wider && x < box.x + box.width + wider && y >= box.y - wider &&
                      y < box.y + box.height + wider;
      ++(in ? all.inside : all.outside);
    }
  }
  return all;
}

double mean(const Picture& p) {
  double sum = 0;
  for (const std::uint8_t luma : p.y) sum += luma;
  return sum / static_cast<double>(p.y.size());
}

double roughness(const Picture& p) {
  double sum = 0;
  for (std::size_t i = 1; i < p.y.size(); ++i) sum += std::abs(p.y[i] - p.y[i - 1]);
  return sum / static_cast<double>(p.y.size());
}

TEST(Mishaps, ChangeNothingBeforeTheyHappen) {
  const auto plain = scene_with("anvil", {}, kTiny);
  const auto eventful = scene_with(
      "anvil", {event(Mishap::came_off), event(Mishap::mess), event(Mishap::knocked), event(Mishap::stall)},
      kTiny);
  for (const double s : {0.0, 100.0, 599.0}) {
    EXPECT_EQ(drawn(*plain, s).y, drawn(*eventful, s).y) << s;
    EXPECT_EQ(drawn(*plain, s).u, drawn(*eventful, s).u) << s;
  }
}

TEST(Mishaps, AreAFunctionOfSeedAndTime) {
  const std::vector<JobEvent> events{event(Mishap::came_off, 0, 1, 1), event(Mishap::mess, 300),
                                     event(Mishap::reach_in, 60), event(Mishap::daylight)};
  const auto first = scene_with("bobbin", events, kTiny);
  const auto second = scene_with("bobbin", events, kTiny);
  const Picture late = drawn(*second, 800);
  const Picture early = drawn(*second, 620);
  EXPECT_EQ(drawn(*first, 620).y, early.y);
  EXPECT_EQ(drawn(*first, 800).y, late.y);
}

class EveryPrinter : public testing::TestWithParam<std::string_view> {};

TEST_P(EveryPrinter, APartThatCameOffIsWhereTheTruthSays) {
  // Grown no further, but in its place: the other picture to compare with.
  const auto stays = scene_with(GetParam(), {event(Mishap::nothing_out)});
  for (int manner = 0; manner < 6; ++manner) {
    const auto scene = scene_with(GetParam(), {event(Mishap::came_off, 0, 1, manner)});
    EXPECT_FALSE(scene->job_at(at(kBegin - 1))->detached_since_s);
    int most = 0;
    for (double s = kBegin + 5; s < kBegin + 60; s += 11) {
      const auto truth = scene->job_at(at(s));
      ASSERT_TRUE(truth->detached_since_s) << manner;
      EXPECT_EQ(*truth->detached_since_s, kBegin);
      EXPECT_EQ(truth->grown, scene->job_at(at(kBegin))->grown);
      EXPECT_FALSE(truth->growing);
      const Region box = joined(truth->part, stays->job_at(at(s))->part);
      const Changed pixels = changed(drawn(*scene, s), drawn(*stays, s), box, 20);
      EXPECT_EQ(pixels.outside, 0) << manner << " at " << s;
      most = std::max(most, pixels.inside);
    }
    EXPECT_GT(most, 250) << manner;
  }
}

// Until the head's first push, which comes after ten seconds at the earliest.
TEST_P(EveryPrinter, WhatIsFlungToTheBenchLiesStillAlsoBesideABedThatSlides) {
  const auto scene =
      scene_with(GetParam(), {event(Mishap::came_off, 0, 1, static_cast<int>(ComingOff::flung))});
  const auto lies = scene->job_at(at(kBegin + 2));
  for (double s = kBegin + 2.5; s < kBegin + 9; s += 0.5) {
    const auto truth = scene->job_at(at(s));
    EXPECT_NEAR(truth->foot->x, lies->foot->x, 0.01) << s;
    EXPECT_NEAR(truth->foot->y, lies->foot->y, 0.01) << s;
  }
}

TEST_P(EveryPrinter, AMessGrowsOverMoreThanATwentiethAndThePartNoMore) {
  const auto bare = scene_with(GetParam(), {event(Mishap::nothing_out)});
  for (int look = 0; look < 4; ++look) {
    const auto scene = scene_with(GetParam(), {event(Mishap::mess, 600, 1, look)});
    double before = 0;
    for (double s = kBegin; s <= kBegin + 600; s += 100) {
      const auto truth = scene->job_at(at(s));
      EXPECT_GE(truth->mess_share, before * 0.85) << look << " at " << s;
      before = truth->mess_share;
      // The thread hangs between head and heap.
      Region box = joined(truth->mess,
                          Region{static_cast<int>(truth->head->x), static_cast<int>(truth->head->y), 1, 1});
      const Changed pixels = changed(drawn(*scene, s), drawn(*bare, s), box, 8);
      EXPECT_EQ(pixels.outside, 0) << look << " at " << s;
      const double share = pixels.inside / (static_cast<double>(kSize.width) * kSize.height);
      EXPECT_LT(share, truth->mess_share * 1.3 + 0.002) << look << " at " << s;
      EXPECT_GE(share, truth->mess_share * 0.15) << look << " at " << s;
    }
    EXPECT_GT(before, 0.05) << look;
    EXPECT_EQ(scene->job_at(at(kBegin + 600))->grown, scene->job_at(at(kBegin))->grown);
  }
}

TEST_P(EveryPrinter, LayersAfterAShiftStandAside) {
  const auto straight = scene_with(GetParam(), {});
  const auto scene = scene_with(GetParam(), {event(Mishap::layer_shift, 0, 1.5F)});
  const auto truth = scene->job_at(at(1'800));
  EXPECT_EQ(truth->shifted_since_s, kBegin);
  EXPECT_EQ(truth->grown, straight->job_at(at(1'800))->grown);
  // What was laid before is where it was: the lower part of the box.
  EXPECT_GT(changed(drawn(*scene, 1'800), drawn(*straight, 1'800), truth->part, 0).inside, 60);
}

TEST_P(EveryPrinter, AMachineThatIsStalledStandsAndGoesOn) {
  const auto scene = scene_with(GetParam(), {event(Mishap::stall, 300)});
  const auto truth = scene->job_at(at(kBegin + 1));
  EXPECT_TRUE(truth->stalled && truth->under_way);
  EXPECT_FALSE(truth->growing);
  const auto boxes = scene->moving_at(at(kBegin + 1));
  ASSERT_EQ(boxes.size(), 1U);
  EXPECT_EQ(boxes[0].what, "filament");
  const Changed still = changed(drawn(*scene, kBegin + 1), drawn(*scene, kBegin + 290), boxes[0].region, 4);
  EXPECT_EQ(still.outside, 0);
  EXPECT_FALSE(scene->job_at(at(kBegin + 301))->stalled);
  // It takes up the work where it was left.
  EXPECT_EQ(scene->job_at(at(kBegin + 300))->grown, scene->job_at(at(kBegin))->grown);
  EXPECT_GT(scene->job_at(at(kBegin + 400))->grown, truth->grown);
}

TEST_P(EveryPrinter, ForASpoolTheHeadGoesAsideAndAHandComes) {
  const auto scene = scene_with(GetParam(), {event(Mishap::spool_change, 150)});
  const auto working = scene->job_at(at(kBegin - 0.1));
  int hands = 0;
  for (double s = kBegin + 3; s < kBegin + 147; ++s) {
    const auto truth = scene->job_at(at(s));
    EXPECT_TRUE(truth->paused && truth->under_way && !truth->stalled);
    EXPECT_LT(truth->head->x, working->part.x + 0.5F * static_cast<float>(working->part.width));
    hands += truth->hand ? 1 : 0;
  }
  EXPECT_GT(hands, 20);
  EXPECT_FALSE(scene->job_at(at(kBegin + 151))->hand);
  const double whole = scene_with(GetParam(), {})->job_at(at(1'500))->grown;
  EXPECT_EQ(scene->job_at(at(1'650))->grown, whole);
}

TEST_P(EveryPrinter, APersonIsInThePictureWhenTheTruthSaysSo) {
  const auto alone = scene_with(GetParam(), {});
  const auto scene = scene_with(GetParam(), {event(Mishap::reach_in, 20), {Mishap::walk_by, 700, 6}});
  for (const double s : {595.0, 610.0, 650.0, 703.0, 710.0}) {
    const bool seen =
        changed(drawn(*scene, s), drawn(*alone, s), {0, 0, kSize.width, kSize.height}, 0).inside > 400;
    EXPECT_EQ(scene->job_at(at(s))->hand, seen) << s;
    EXPECT_EQ(scene->job_at(at(s))->grown, alone->job_at(at(s))->grown) << s;
  }
}

TEST_P(EveryPrinter, AtTheEndTheHeadIsParkedAndThePartStays) {
  const auto scene = scene_with(GetParam(), {}, kSize, PrintedKind::plate);
  // 28 layers of 20 s.
  EXPECT_TRUE(scene->job_at(at(555))->under_way);
  EXPECT_FALSE(scene->job_at(at(555))->finished);
  EXPECT_TRUE(scene->job_at(at(565))->finished);
  const auto boxes = scene->moving_at(at(3'000));
  ASSERT_EQ(boxes.size(), 1U);
  EXPECT_EQ(changed(drawn(*scene, 570), drawn(*scene, 5'000), boxes[0].region, 4).outside, 0);
  EXPECT_GT(scene->job_at(at(5'000))->part.width, 0);
}

INSTANTIATE_TEST_SUITE_P(Scenes, EveryPrinter, testing::Values("anvil", "bobbin", "cog"));

TEST(Mishaps, WhenNothingComesOutTheHeadMovesAndNothingGrows) {
  const auto scene = scene_with("cog", {event(Mishap::nothing_out)}, kTiny);
  const auto then = scene->job_at(at(kBegin));
  const auto later = scene->job_at(at(kBegin + 500));
  EXPECT_EQ(later->part, then->part);
  EXPECT_EQ(later->barren_since_s, kBegin);
  EXPECT_FALSE(later->growing || later->stalled || later->paused);
  EXPECT_LT(later->head->y, then->head->y);
}

TEST(Mishaps, LightComesAndGoes) {
  const auto plain = scene_with("bobbin", {}, kTiny);
  const auto dark = scene_with("bobbin", {event(Mishap::lamp_off, 100)}, kTiny);
  const auto bright = scene_with("bobbin", {event(Mishap::exposure, 0, 1.4F)}, kTiny);
  const auto day = scene_with("bobbin", {event(Mishap::daylight, 0, 0.5F)}, kTiny);
  EXPECT_LT(mean(drawn(*dark, 650)), 0.4 * mean(drawn(*plain, 650)));
  EXPECT_TRUE(dark->job_at(at(650))->dark);
  EXPECT_GT(dark->noise(at(650)), dark->noise(at(590)));
  EXPECT_FALSE(dark->job_at(at(701))->dark);
  EXPECT_EQ(drawn(*dark, 701).y, drawn(*plain, 701).y);
  EXPECT_GT(mean(drawn(*bright, 650)), 1.2 * mean(drawn(*plain, 650)));
  double least = 1e9;
  double most = 0;
  for (double s = 700; s < 4'000; s += 200) {
    const double share = mean(drawn(*day, s)) / mean(drawn(*plain, s));
    least = std::min(least, share);
    most = std::max(most, share);
  }
  EXPECT_GT(most - least, 0.15);
}

TEST(Mishaps, AKnockedCameraSeesThingsElsewhereAndTheTruthWithIt) {
  const auto plain = scene_with("anvil", {});
  const auto knocked = scene_with("anvil", {event(Mishap::knocked, 0, 3)});
  const auto turned = scene_with("anvil", {event(Mishap::knocked, 0, 60, 1)});
  const auto was = plain->job_at(at(650));
  const auto is = knocked->job_at(at(650));
  EXPECT_TRUE(is->knocked && !was->knocked && !knocked->job_at(at(599))->knocked);
  // Three degrees to the right: what is seen moves to the left by a seventeenth of the width.
  EXPECT_NEAR(was->part.x - is->part.x, 17, 3);
  EXPECT_EQ(turned->job_at(at(650))->part.width, 0);
  EXPECT_GT(changed(drawn(*plain, 650), drawn(*turned, 650), {0, 0, 320, 240}, 0).inside, 30'000);
}

TEST(Mishaps, ALensIsCoveredOrOutOfFocusForAsLongAsItLasts) {
  const auto plain = scene_with("cog", {});
  const auto covered = scene_with("cog", {event(Mishap::covered, 60)});
  const auto soft = scene_with("cog", {event(Mishap::unsharp, 60, 6)});
  EXPECT_TRUE(covered->job_at(at(630))->covered && soft->job_at(at(630))->unsharp);
  EXPECT_LT(mean(drawn(*covered, 630)), 25);
  EXPECT_LT(roughness(drawn(*covered, 630)), 0.5);
  EXPECT_LT(roughness(drawn(*soft, 630)), 0.5 * roughness(drawn(*plain, 630)));
  EXPECT_EQ(drawn(*covered, 661).y, drawn(*plain, 661).y);
  EXPECT_EQ(drawn(*soft, 661).y, drawn(*plain, 661).y);
}

TEST(Mishaps, AMachineMayStandIdleBeforeItBegins) {
  PrintJob job = job_with({});
  job.idle_s = 300;
  auto made = make_printer_scene("bobbin", 5, kTiny, job);
  ASSERT_TRUE(made);
  EXPECT_TRUE((*made)->job_at(at(290))->idle);
  EXPECT_FALSE((*made)->job_at(at(290))->under_way);
  EXPECT_EQ((*made)->job_at(at(290))->part.width, 0);
  EXPECT_TRUE((*made)->job_at(at(301))->under_way);
  EXPECT_EQ((*made)->job_at(at(1'300))->grown, scene_with("bobbin", {}, kTiny)->job_at(at(1'000))->grown);
}

TEST(Mishaps, EveryShapeGrowsToItsHeight) {
  for (int kind = 0; kind < 9; ++kind) {
    const auto scene = scene_with("anvil", {}, kTiny, static_cast<PrintedKind>(kind));
    int before = 0;
    for (double s = 100; s < 3'000; s += 400) {
      const auto truth = scene->job_at(at(s));
      EXPECT_GE(truth->part.width * truth->part.height, before * 0.8) << kind;
      before = truth->part.width * truth->part.height;
    }
    PrintJob job = job_with({event(Mishap::stall)}, static_cast<PrintedKind>(kind));
    job.events[0].at_s = 1;
    auto empty = make_printer_scene("anvil", 5, kTiny, job);
    ASSERT_TRUE(empty);
    const auto truth = scene->job_at(at(3'000));
    EXPECT_GT(changed(drawn(*scene, 3'000), drawn(**empty, 3'000), truth->part, 0).inside, 40) << kind;
  }
}

TEST(Mishaps, WhatCannotHappenIsRefused) {
  const auto refused = [](const PrintJob& job) {
    const auto made = make_printer_scene("anvil", 1, kTiny, job);
    return !made && made.error().code == base::ErrorCode::invalid_value;
  };
  EXPECT_TRUE(refused(job_with({{Mishap::stall, -1}})));
  EXPECT_TRUE(refused(job_with({{Mishap::knocked, 1, 0, 91}})));
  EXPECT_TRUE(refused(job_with({{Mishap::reach_in, 1, 1}})));
  EXPECT_TRUE(refused(job_with({{Mishap::mess, 1}, {Mishap::mess, 2}})));
  PrintJob job;
  job.rest_s = 10;
  EXPECT_TRUE(refused(job));
  job.rest_s = 45;
  job.idle_s = -1;
  EXPECT_TRUE(refused(job));
}

}  // namespace
}  // namespace rookery::sim
