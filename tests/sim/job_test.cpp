// What a scene says of the job that it shows.
#include <gtest/gtest.h>

#include "sim/scene.h"

namespace rookery::sim {
namespace {

using std::chrono::seconds;
constexpr Size kTiny{160, 120};

TEST(JobTruth, APrintGrowsToItsEndAndTheNextBegins) {
  const auto made = make_printer_scene("bobbin", 1, kTiny, {PrintedKind::gear, 10, true});
  ASSERT_TRUE(made);
  const Scene& scene = **made;
  double before = 0;
  std::int64_t jobs = 0;
  for (int s = 0; s < 700; ++s) {
    const auto truth = scene.job_at(seconds(s));
    ASSERT_TRUE(truth && truth->head && truth->foot);
    if (truth->number > jobs) {
      // 60 layers of 10 s, and the rest after them.
      EXPECT_NEAR(s, 645, 1);
      jobs = truth->number;
      before = 0;
    }
    EXPECT_EQ(truth->under_way, s < 600 || s >= 645) << s;
    EXPECT_GE(truth->grown, before) << s;
    before = truth->grown;
  }
  EXPECT_EQ(jobs, 1);
}

TEST(JobTruth, OnABedThatSlidesTheFootMovesAndElsewhereTheHead) {
  const auto anvil = make_printer_scene("anvil", 1, kTiny, {PrintedKind::vase, 47, true});
  const auto cog = make_printer_scene("cog", 1, kTiny, {PrintedKind::vase, 47, true});
  ASSERT_TRUE(anvil && cog);
  float foot = 0;
  float fixed = 0;
  for (int s = 1; s < 40; ++s) {
    const auto was = (*anvil)->job_at(seconds(s - 1));
    const auto is = (*anvil)->job_at(seconds(s));
    foot += std::abs(is->foot->y - was->foot->y);
    fixed += std::abs((*cog)->job_at(seconds(s))->foot->y - (*cog)->job_at(seconds(s - 1))->foot->y);
  }
  EXPECT_GT(foot, 10);
  EXPECT_EQ(fixed, 0);
}

TEST(JobTruth, SeedlingsAndKilnGrowAndACounterMakesNothing) {
  for (const std::string_view name : {"seedlings", "kiln"}) {
    const auto scene = make_scene(name, 2, kTiny);
    ASSERT_TRUE(scene);
    const auto early = (*scene)->job_at(seconds(10));
    const auto late = (*scene)->job_at(seconds(100));
    ASSERT_TRUE(early && late) << name;
    EXPECT_GT(late->grown, early->grown);
    EXPECT_FALSE(early->head);
  }
  const auto counter = make_scene("counter", 2, kTiny);
  ASSERT_TRUE(counter);
  EXPECT_FALSE((*counter)->job_at(seconds(10)));
}

TEST(PrinterScene, RefusesWhatItCannotMake) {
  EXPECT_EQ(make_printer_scene("kiln", 1, kTiny, {}).error().code, base::ErrorCode::not_found);
  EXPECT_EQ(make_printer_scene("cog", 1, {161, 120}, {}).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(make_printer_scene("cog", 1, kTiny, {{}, 0.5F, false}).error().code,
            base::ErrorCode::invalid_value);
}

}  // namespace
}  // namespace rookery::sim
