#include "sim/scene.h"

#include <gtest/gtest.h>

#include "sim/clock_code.h"
#include "sim/picture_faults.h"
#include "sim/scene_source.h"

namespace rookery::sim {
namespace {

constexpr Size kSmall{320, 240};
constexpr Size kTiny{160, 120};
using std::chrono::seconds;

std::unique_ptr<Scene> scene_of(std::string_view name, Size size = kSmall) {
  auto made = make_scene(name, 4, size);
  EXPECT_TRUE(made);
  return std::move(*made);
}

int differing(const Picture& a, const Picture& b, int by) {
  int n = 0;
  for (std::size_t i = 0; i < a.y.size(); ++i) n += std::abs(a.y[i] - b.y[i]) > by ? 1 : 0;
  return n;
}

Picture drawn(Scene& scene, SceneTime t) {
  Picture picture(scene.size());
  Canvas canvas(picture);
  scene.draw(canvas, t);
  return picture;
}

class EveryScene : public testing::TestWithParam<std::string_view> {};

TEST_P(EveryScene, IsAFunctionOfSeedAndTime) {
  const auto first = scene_of(GetParam(), kTiny);
  const auto second = scene_of(GetParam(), kTiny);
  // The second is asked in another order.
  const Picture later = drawn(*second, seconds(41));
  const Picture early = drawn(*second, seconds(7));
  EXPECT_EQ(drawn(*first, seconds(7)).y, early.y);
  EXPECT_EQ(drawn(*first, seconds(41)).y, later.y);
  EXPECT_EQ(drawn(*first, seconds(41)).u, later.u);
}

TEST_P(EveryScene, SomethingChangesWithinAMinute) {
  const auto scene = scene_of(GetParam(), kTiny);
  const Picture start = drawn(*scene, seconds(0));
  int most = 0;
  for (int s = 5; s <= 60; s += 5) most = std::max(most, differing(start, drawn(*scene, seconds(s)), 6));
  EXPECT_GT(most, 12);
}

TEST_P(EveryScene, IsAPictureAndNotAFlatField) {
  const Picture picture = drawn(*scene_of(GetParam(), kTiny), seconds(3));
  double sum = 0;
  double squares = 0;
  for (const std::uint8_t luma : picture.y) {
    sum += luma;
    squares += static_cast<double>(luma) * luma;
  }
  const double mean = sum / static_cast<double>(picture.y.size());
  EXPECT_GT(mean, 12);
  EXPECT_LT(mean, 230);
  EXPECT_GT(squares / static_cast<double>(picture.y.size()) - mean * mean, 200);
}

TEST_P(EveryScene, TruthIsOrderedAndAppendOnly) {
  const auto scene = scene_of(GetParam(), kTiny);
  const std::vector<Motion> some = scene->motions(seconds(100));
  const std::vector<Motion> more = scene->motions(seconds(300));
  ASSERT_GE(more.size(), some.size());
  for (std::size_t i = 0; i < some.size(); ++i) EXPECT_EQ(some[i].start, more[i].start);
  EXPECT_TRUE(std::is_sorted(more.begin(), more.end(),
                             [](const auto& a, const auto& b) { return a.start < b.start; }));
}

INSTANTIATE_TEST_SUITE_P(All, EveryScene, testing::ValuesIn(scene_names().begin(), scene_names().end()),
                         [](const auto& chosen) {
                           std::string name(chosen.param);
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

TEST(Scene, RefusesWhatItCannotMake) {
  EXPECT_EQ(make_scene("attic", 1).error().code, base::ErrorCode::not_found);
  EXPECT_EQ(make_scene("anvil", 1, {641, 480}).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(make_scene("anvil", 1, {8, 8}).error().code, base::ErrorCode::invalid_value);
}

FrameRequest request_at(double s) {
  FrameRequest request;
  request.wall =
      base::WallTime(base::Microseconds(1'772'366'400'000'000 + static_cast<std::int64_t>(s * 1e6)));
  request.since_boot = base::Microseconds(static_cast<std::int64_t>(s * 1e6));
  return request;
}

double mean_of(const Picture& picture) {
  double sum = 0;
  for (const std::uint8_t luma : picture.y) sum += luma;
  return sum / static_cast<double>(picture.y.size());
}

class SceneFaults : public testing::Test {
 protected:
  Picture with(Fault fault, double strength) {
    FrameRequest request = request_at(10);
    request.faults.set(fault, strength);
    return source_.compose(*scene_, request);
  }
  std::shared_ptr<Scene> scene_ = scene_of("anvil");
  SceneSource source_{scene_of("anvil"), {.clock = true, .start = request_at(0).wall}};
};

TEST_F(SceneFaults, ChangeThePictureAsTheySay) {
  const Picture plain = source_.compose(*scene_, request_at(10));
  EXPECT_LT(mean_of(with(Fault::supply_sag, 0.6)), mean_of(plain) * 0.75);
  EXPECT_EQ(with(Fault::size_change, 1).size, (Size{160, 120}));
  const Picture band = with(Fault::green_band, 0.25);
  EXPECT_EQ(band.y.back(), 0);
  EXPECT_EQ(band.u.back(), 0);
  EXPECT_EQ(band.y[100], plain.y[100]);
  EXPECT_GT(differing(with(Fault::knocked, 24), plain, 12), 3000);
  EXPECT_GT(differing(with(Fault::mains_bands, 0.3), plain, 12), 3000);
  // Blur takes away steps between neighbours.
  const auto steps = [](const Picture& p) {
    int n = 0;
    for (std::size_t i = 1; i < p.y.size(); ++i) n += std::abs(p.y[i] - p.y[i - 1]) > 12 ? 1 : 0;
    return n;
  };
  EXPECT_LT(steps(with(Fault::blur, 6)), steps(plain) / 2);
}

TEST_F(SceneFaults, AFreshBootSettlesAndTheFirstBootNeedNot) {
  FrameRequest second = request_at(10);
  second.boot = 2;
  second.since_boot = std::chrono::milliseconds(50);
  const double dark = mean_of(source_.compose(*scene_, second));
  second.since_boot = seconds(6);
  const double settled = mean_of(source_.compose(*scene_, second));
  EXPECT_LT(dark, settled * 0.5);
  EXPECT_DOUBLE_EQ(settled, mean_of(source_.compose(*scene_, request_at(10))));
}

TEST_F(SceneFaults, SameRequestSameBytesAndTheClockIsReadable) {
  SceneSource other(scene_of("anvil"), {.start = request_at(0).wall});
  const FrameRequest request = request_at(12.3);
  const Bytes first = source_.next(request);
  EXPECT_EQ(*first, *other.next(request));
  const auto gray = decode_gray(*first);
  ASSERT_TRUE(gray);
  EXPECT_EQ(read_clock(gray->luma, gray->width, gray->height), request.wall);
}

using SceneFuture = std::shared_future<std::shared_ptr<Scene>>;

// How many steps between neighbours are sharp.
int sharp_steps(const Bytes& jpeg) {
  const auto gray = decode_gray(*jpeg);
  EXPECT_TRUE(gray);
  EXPECT_EQ(gray->width, kSmall.width);
  int n = 0;
  for (int y = 0; y < gray->height * 9 / 10; ++y) {
    for (int x = 1; x < gray->width; ++x) {
      const auto i = static_cast<std::size_t>(y * gray->width + x);
      n += std::abs(gray->luma[i] - gray->luma[i - 1]) > 24 ? 1 : 0;
    }
  }
  return n;
}

TEST(SceneSource, ShowsARoughSceneUntilTheSharpOneIsThere) {
  std::promise<std::shared_ptr<Scene>> rough;
  std::promise<std::shared_ptr<Scene>> scene;
  SceneSource source(SceneFuture(scene.get_future()), {.start = request_at(0).wall},
                     SceneFuture(rough.get_future()));
  EXPECT_FALSE(source.ready());
  rough.set_value(scene_of("bobbin", {kSmall.width / 2, kSmall.height / 2}));
  ASSERT_TRUE(source.ready());
  EXPECT_FALSE(source.sharp());
  const int before = sharp_steps(source.next(request_at(1)));
  const auto head_of = [&] {
    const std::vector<TruthEvent> all = source.truth();
    const auto head = std::find_if(all.begin(), all.end(), [](const auto& e) { return e.what == "head"; });
    EXPECT_NE(head, all.end());
    return head == all.end() ? Region{} : head->region;
  };
  const Region rough_head = head_of();
  scene.set_value(scene_of("bobbin"));
  EXPECT_TRUE(source.sharp());
  const int after = sharp_steps(source.next(request_at(1.1)));
  EXPECT_GT(after, before * 5 / 4);
  const Region head = head_of();
  EXPECT_NEAR(head.x, rough_head.x, 8);
  EXPECT_NEAR(head.y, rough_head.y, 8);
  EXPECT_NEAR(head.width, rough_head.width, 16);
  const std::vector<TruthEvent> truth = source.truth();
  EXPECT_TRUE(std::any_of(truth.begin(), truth.end(), [](const TruthEvent& event) {
    return event.what == "picture sharpens" && event.start == request_at(1.1).wall;
  }));
}

TEST(DoubleInto, KeepsWhatIsEvenAndGoesSmoothlyBetween) {
  Picture small(Size{8, 8});
  std::fill(small.y.begin(), small.y.end(), std::uint8_t{100});
  for (int y = 0; y < 8; ++y)
    for (int x = 4; x < 8; ++x) small.y[static_cast<std::size_t>(y * 8 + x)] = 200;
  Picture large(Size{16, 16});
  double_into(large, small);
  const std::vector<std::uint8_t> line(large.y.begin() + 16 * 5, large.y.begin() + 16 * 6);
  EXPECT_EQ(line, (std::vector<std::uint8_t>{100, 100, 100, 100, 100, 100, 100, 125, 175, 200, 200, 200, 200,
                                             200, 200, 200}));
  EXPECT_EQ(large.u, std::vector<std::uint8_t>(16 * 8, 128));
}

}  // namespace
}  // namespace rookery::sim
