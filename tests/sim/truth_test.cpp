// The truth of each scene against its pictures: nothing moves outside it, and what is in it moves.
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <sstream>

#include "sim/clock_code.h"
#include "sim/scene_source.h"
#include "sim/truth_file.h"

namespace rookery::sim {
namespace {

constexpr Size kSize{320, 240};
constexpr SceneTime kFrame{100'000};
constexpr SceneTime kWatched = std::chrono::seconds(600);
using std::chrono::seconds;

bool holds(Region r, int x, int y, int slack) {
  return x >= r.x - slack && x < r.x + r.width + slack && y >= r.y - slack && y < r.y + r.height + slack;
}

bool holds(Region r, Region inner, int slack) {
  return holds(r, inner.x, inner.y, slack) &&
         holds(r, inner.x + inner.width - 1, inner.y + inner.height - 1, slack);
}

class SceneTruth : public testing::TestWithParam<std::string_view> {
 protected:
  void SetUp() override {
    auto made = make_scene(GetParam(), 4, kSize);
    ASSERT_TRUE(made);
    scene_ = std::move(*made);
    motions_ = scene_->motions(kWatched);
    ASSERT_FALSE(motions_.empty());
  }
  Picture at(SceneTime t) {
    Picture picture(kSize);
    Canvas canvas(picture);
    scene_->draw(canvas, t);
    return picture;
  }
  // Moments at which something begins, goes on or ends.
  std::vector<SceneTime> moments() const {
    std::vector<SceneTime> moments;
    for (int s = 0; s < 60; s += 7) moments.push_back(seconds(s));
    for (const Motion& motion : motions_) {
      const SceneTime length = motion.end - motion.start;
      for (const SceneTime t : {motion.start - kFrame / 2, motion.start + kFrame, motion.start + length / 3,
                                motion.start + 2 * length / 3, motion.end - kFrame / 2})
        if (t >= SceneTime{} && t < kWatched) moments.push_back(t);
    }
    if (moments.size() > 90) moments.resize(90);
    return moments;
  }
  std::unique_ptr<Scene> scene_;
  std::vector<Motion> motions_;
};

TEST_P(SceneTruth, NothingMovesOutsideTheBoxesOfTheMoment) {
  for (const SceneTime t : moments()) {
    const Picture before = at(t);
    const Picture after = at(t + kFrame);
    std::vector<MovingBox> boxes = scene_->moving_at(t);
    const std::vector<MovingBox> then = scene_->moving_at(t + kFrame);
    boxes.insert(boxes.end(), then.begin(), then.end());
    int outside = 0;
    for (int y = 0; y < kSize.height; ++y) {
      for (int x = 0; x < kSize.width; ++x) {
        const auto i = static_cast<std::size_t>(y * kSize.width + x);
        if (std::abs(before.y[i] - after.y[i]) <= 10) continue;
        outside += std::none_of(boxes.begin(), boxes.end(),
                                [&](const MovingBox& box) { return holds(box.region, x, y, 2); })
                       ? 1
                       : 0;
      }
    }
    EXPECT_EQ(outside, 0) << "at " << t.count() / 1000 << " ms";
  }
}

TEST_P(SceneTruth, EveryBoxBelongsToAMotionUnderWay) {
  for (const SceneTime t : moments()) {
    for (const MovingBox& box : scene_->moving_at(t)) {
      EXPECT_TRUE(std::any_of(motions_.begin(), motions_.end(),
                              [&](const Motion& motion) {
                                return motion.what == box.what && motion.start <= t + SceneTime(1000) &&
                                       t <= motion.end + SceneTime(1000) &&
                                       holds(motion.region, box.region, 4);
                              }))
          << box.what << " at " << t.count() / 1000 << " ms";
    }
  }
}

TEST_P(SceneTruth, EveryMotionChangesItsRegion) {
  for (const Motion& motion : motions_) {
    ASSERT_LT(motion.start, motion.end) << motion.what;
    ASSERT_GT(motion.region.width, 0) << motion.what;
    const SceneTime length = std::min<SceneTime>(motion.end - motion.start, seconds(8));
    const Picture first = at(motion.start);
    int most = 0;
    for (int part = 1; part <= 8; ++part) {
      const Picture later = at(motion.start + length * part / 8 - SceneTime(1));
      int changed = 0;
      for (int y = motion.region.y; y < motion.region.y + motion.region.height; ++y) {
        for (int x = motion.region.x; x < motion.region.x + motion.region.width; ++x) {
          const auto i = static_cast<std::size_t>(y * kSize.width + x);
          changed += std::abs(first.y[i] - later.y[i]) > 3 ? 1 : 0;
        }
      }
      most = std::max(most, changed);
    }
    EXPECT_GT(most, 3) << motion.what << " from " << motion.start.count() / 1000 << " ms";
  }
}

INSTANTIATE_TEST_SUITE_P(All, SceneTruth, testing::ValuesIn(scene_names().begin(), scene_names().end()),
                         [](const auto& chosen) {
                           std::string name(chosen.param);
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

// What docs/formats/truth.md says of each.
TEST(Truth, EachSceneHasItsHappenings) {
  const std::map<std::string_view, std::set<std::string_view>> expected{
      {"anvil", {"head", "bed", "part", "taking off", "filament"}},
      {"bobbin", {"head", "part", "taking off", "filament"}},
      {"cog", {"head", "arms", "part", "taking off", "filament"}},
      {"seedlings", {"leaves", "lamp", "planting out"}},
      {"counter", {"visitor", "door"}},
      {"back-door", {"fox", "person", "moths", "door"}},
      {"kiln", {"glow", "display", "hot air"}},
      {"bay", {"van", "carrier", "trees", "birds"}}};
  for (const std::string_view name : scene_names()) {
    auto scene = make_scene(name, 1, {160, 120});
    ASSERT_TRUE(scene);
    std::set<std::string_view> found;
    for (const Motion& motion : (*scene)->motions(seconds(900))) found.insert(motion.what);
    EXPECT_EQ(found, expected.at(name)) << name;
  }
}

base::WallTime wall_at(double s) {
  return base::WallTime(base::Microseconds(1'772'366'400'000'000 + static_cast<std::int64_t>(s * 1e6)));
}

FrameRequest request_at(double s) {
  FrameRequest request;
  request.wall = wall_at(s);
  request.since_boot = base::Microseconds(static_cast<std::int64_t>(s * 1e6));
  return request;
}

TEST(Truth, OfASourceHasClockTracksAndSettling) {
  SceneSource source(std::move(*make_scene("counter", 4, {160, 120})), {.start = wall_at(0)});
  (void)source.next(request_at(0));
  FrameRequest booted = request_at(70);
  booted.boot = 2;
  booted.since_boot = std::chrono::milliseconds(300);
  (void)source.next(booted);
  (void)source.next(request_at(120));
  const std::vector<TruthEvent> truth = source.truth();
  const auto named = [&](std::string_view what) {
    const auto found =
        std::find_if(truth.begin(), truth.end(), [what](const auto& event) { return event.what == what; });
    EXPECT_NE(found, truth.end()) << what;
    return found == truth.end() ? TruthEvent{} : *found;
  };
  EXPECT_EQ(named("clock").region, clock_region({160, 120}));
  EXPECT_EQ(named("clock").end, wall_at(120));
  EXPECT_EQ(named("exposure settles").start, wall_at(69.7));
  EXPECT_EQ(named("exposure settles").end, wall_at(74.2));
  const TruthEvent visitor = named("visitor");
  EXPECT_EQ(visitor.kind, TruthKind::wanted);
  ASSERT_GT(visitor.track.size(), 40U);
  for (const TruthBox& box : visitor.track) {
    EXPECT_GE(box.at, visitor.start);
    EXPECT_LE(box.at, visitor.end);
    EXPECT_TRUE(holds(visitor.region, box.region, 4));
  }
  EXPECT_TRUE(std::is_sorted(truth.begin(), truth.end(),
                             [](const auto& a, const auto& b) { return a.start < b.start; }));
}

TEST(Truth, IsWrittenAsOneObjectALine) {
  TruthEvent van{wall_at(1), wall_at(7.5), TruthKind::wanted, "van", {10, 20, 30, 40}, 0, {}};
  van.track = {{wall_at(1), {10, 20, 5, 6}}, {wall_at(1.5), {12, 20, 5, 6}}};
  const TruthEvent stall{wall_at(2), wall_at(8), TruthKind::fault, "stall", {}, 6, {}};
  std::ostringstream out;
  write_truth(out, "bay", {van, stall});
  EXPECT_EQ(
      out.str(),
      "{\"camera\":\"bay\",\"kind\":\"wanted\",\"what\":\"van\",\"start\":\"2026-03-01T12:00:01.000Z\","
      "\"end\":\"2026-03-01T12:00:07.500Z\",\"box\":[10,20,30,40],\"track\":["
      "[\"2026-03-01T12:00:01.000Z\",10,20,5,6],[\"2026-03-01T12:00:01.500Z\",12,20,5,6]]}\n"
      "{\"camera\":\"bay\",\"kind\":\"fault\",\"what\":\"stall\",\"start\":\"2026-03-01T12:00:02.000Z\","
      "\"end\":\"2026-03-01T12:00:08.000Z\",\"strength\":6}\n");
}

}  // namespace
}  // namespace rookery::sim
