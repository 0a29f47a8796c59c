#include "plan/view.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace rookery::plan {
namespace {

const Sensor kSensor = usual_sensor();
const Metres kFocal = focal_length(kSensor.diagonal(), kUsualLens);
const Picture kFull = picture_on(kSensor, 1600, 1200);
// What the vectors below take, rounded, for the usual lens; and two pixels at 1600 for the circle.
const Metres kRounded = 3.26_mm;
const Metres kCircle = 4.4_um;

// Computed from the formulas (so they check the arithmetic): REFERENCE 9.
TEST(View, TheUsualLensOnTheUsualSensor) {
  EXPECT_NEAR(kSensor.width().value(), 3520e-6, 1e-12);
  EXPECT_NEAR(kSensor.height().value(), 2640e-6, 1e-12);
  EXPECT_NEAR(kFocal.value(), 3.26e-3, 0.005e-3);
  EXPECT_NEAR(angle_of_view(kSensor.width(), kFocal).degrees, 56.7, 0.05);
  EXPECT_NEAR(angle_of_view(kSensor.height(), kFocal).degrees, 44.1, 0.05);
  EXPECT_NEAR(angle_of_view(kSensor.diagonal(), kFocal).degrees, 68, 1e-9);
}

TEST(View, DepthOfFieldOfAFiftyMillimetreLens) {
  const Metres hyperfocal = hyperfocal_distance(50_mm, 8, 0.03_mm);
  EXPECT_NEAR(hyperfocal.value(), 10.4667, 0.0001);
  const SharpRange range = sharp_range(hyperfocal, 50_mm, 5_m);
  EXPECT_NEAR(range.near.value(), 3.3894, 0.0001);
  ASSERT_TRUE(range.far);
  EXPECT_NEAR(range.far->value(), 9.5274, 0.0001);
}

TEST(View, DepthOfFieldOfTheUsualLens) {
  const Metres hyperfocal = hyperfocal_distance(kRounded, 2.4, kCircle);
  EXPECT_NEAR(hyperfocal.value(), 1.010, 0.0005);
  const SharpRange range = sharp_range(hyperfocal, kRounded, 0.5_m);
  EXPECT_NEAR(range.near.value(), 0.335, 0.0005);
  ASSERT_TRUE(range.far);
  EXPECT_NEAR(range.far->value(), 0.987, 0.0005);
}

// REFERENCE 10.
TEST(View, PixelsOnAMetreAndHowFarTheyReach) {
  EXPECT_NEAR(density_at(kRounded, kFull.pixel, 1_m).value(), 1481.8, 0.05);
  EXPECT_NEAR(farthest_for(kRounded, kFull.pixel, PerMetre::from_value(125)).value(), 11.85, 0.01);
  EXPECT_NEAR(farthest_for(kRounded, kFull.pixel, PerMetre::from_value(250)).value(), 5.93, 0.005);
  const Picture half = picture_on(kSensor, 800, 600);
  EXPECT_NEAR((density_at(kFocal, half.pixel, 1_m) / density_at(kFocal, kFull.pixel, 1_m)).value(), 0.5,
              1e-12);
}

TEST(View, APictureOfAnotherShapeLosesItsSides) {
  const Picture wider = picture_on(kSensor, 400, 296);  // of each line all, of 1200 lines 1184
  EXPECT_NEAR(wider.width().value(), kSensor.width().value(), 1e-12);
  EXPECT_NEAR(wider.height().value(), 1184 * 2.2e-6, 1e-12);
  const Picture squarer = picture_on(kSensor, 1280, 1024);
  EXPECT_NEAR(squarer.height().value(), kSensor.height().value(), 1e-12);
  EXPECT_NEAR(squarer.width().value(), 1500 * 2.2e-6, 1e-12);
}

TEST(View, TasksGoFromCoarseToFine) {
  EXPECT_EQ(finest_task(PerMetre::from_value(12.4)), nullptr);
  EXPECT_EQ(finest_task(PerMetre::from_value(12.5))->key, "monitor");
  EXPECT_EQ(finest_task(PerMetre::from_value(249.9))->key, "recognise");
  EXPECT_EQ(finest_task(PerMetre::from_value(5000))->key, "inspect");
  EXPECT_EQ(find_task("read"), nullptr);
}

rc::Gen<double> between(double least, double most) {
  return rc::gen::map(rc::gen::inRange(0, 1000001), [=](int i) { return least + (most - least) * i / 1e6; });
}
// Evenly over the decades.
rc::Gen<double> over(double least, double most) {
  return rc::gen::map(between(std::log(least), std::log(most)), [](double x) { return std::exp(x); });
}

struct Lens {
  Metres focal;
  double f_number;
  Metres circle;
};
Lens any_lens() {
  return {Metres::from_value(*over(1e-3, 0.1)), *between(1, 22), Metres::from_value(*over(1e-6, 50e-6))};
}

RC_GTEST_PROP(View, DensityTimesDistanceStays, ()) {
  const Metres focal = Metres::from_value(*over(1e-3, 0.1));
  const Metres a = Metres::from_value(*over(1, 200));
  const Metres b = Metres::from_value(*over(1, 200));
  const double at_a = (density_at(focal, 2.2_um, a) * a).value();
  const double at_b = (density_at(focal, 2.2_um, b) * b).value();
  RC_ASSERT(std::abs(at_a / at_b - 1) < 1e-12);
}

RC_GTEST_PROP(View, FocalLengthAndAngleAreTheSameThingTwice, ()) {
  const Degrees angle{*between(1, 170)};
  const Metres size = Metres::from_value(*over(1e-3, 0.1));
  RC_ASSERT(std::abs(angle_of_view(size, focal_length(size, angle)).degrees - angle.degrees) < 1e-9);
}

RC_GTEST_PROP(View, FocusLiesInsideWhatIsSharp, ()) {
  const Lens lens = any_lens();
  const Metres hyperfocal = hyperfocal_distance(lens.focal, lens.f_number, lens.circle);
  const Metres focus = lens.focal * *over(10, 1e5);
  const SharpRange range = sharp_range(hyperfocal, lens.focal, focus);
  RC_ASSERT(range.near < focus);
  RC_ASSERT(range.far.has_value() == (focus < hyperfocal));
  if (range.far) RC_ASSERT(focus < *range.far);
}

RC_GTEST_PROP(View, AtTheEndsOfTheRangeTheBlurIsTheCircle, ()) {
  const Lens lens = any_lens();
  const Metres hyperfocal = hyperfocal_distance(lens.focal, lens.f_number, lens.circle);
  const Metres focus = lens.focal * *over(10, 1e4);
  const SharpRange range = sharp_range(hyperfocal, lens.focal, focus);
  const auto blur = [&](Metres depth) { return blur_circle(lens.focal, lens.f_number, focus, depth); };
  RC_ASSERT(std::abs((blur(range.near) / lens.circle).value() - 1) < 1e-6);
  if (range.far && *range.far < 1e6 * focus)
    RC_ASSERT(std::abs((blur(*range.far) / lens.circle).value() - 1) < 1e-6);
}

RC_GTEST_PROP(View, TheBestFocusBlursBothEndsAlike, ()) {
  const Metres near = Metres::from_value(*over(0.1, 10));
  const Metres far = near * *between(1.01, 20);
  const Metres focus = best_focus(near, far);
  RC_ASSERT(near < focus && focus < far);
  const double ends = (blur_circle(3_mm, 2.4, focus, near) / blur_circle(3_mm, 2.4, focus, far)).value();
  RC_ASSERT(std::abs(ends - 1) < 1e-9);
}

// Pixels along the slope and upright are how fast a point of the picture moves when the point of the target
// does.
RC_GTEST_PROP(View, DensitiesOnATiltAreTheSlopesOfTheProjection, ()) {
  const Target target{Metres::from_value(*over(0.1, 10)), Degrees{*between(0, 80)}};
  const Metres along = target.distance * *between(-0.5, 0.5);
  const double sine = std::sin(target.tilt.radians());
  const double cosine = std::cos(target.tilt.radians());
  // Where the picture shows what is `u` along the slope and `h` above it, in pixels from its middle.
  const auto shown_at = [&](Metres u, Metres h) {
    const Metres depth = target.distance + u * sine - h * cosine;
    const Metres up = u * cosine + h * sine;
    return (kFocal / kFull.pixel * up / depth).value();
  };
  const Metres step = target.distance * 1e-6;
  const double slope = (shown_at(along + step, 0_m) - shown_at(along - step, 0_m)) / (2 * step.value());
  const double upright = (shown_at(along, step) - shown_at(along, -step)) / (2 * step.value());
  const double scale = density_at(kFocal, kFull.pixel, target.depth_at(along)).value();
  RC_ASSERT(std::abs(slope - density_along(kFocal, kFull.pixel, target, along).value()) < 1e-6 * scale);
  RC_ASSERT(std::abs(upright - density_upright(kFocal, kFull.pixel, target, along).value()) < 1e-6 * scale);
}

RC_GTEST_PROP(View, TheVisibleStretchEndsAtThePicturesEdges, ()) {
  const Target target{Metres::from_value(*over(0.1, 10)), Degrees{*between(0, 80)}};
  const Metres focal = Metres::from_value(*over(1.3e-3, 30e-3));
  const Stretch stretch = visible_stretch(kFull, focal, target);
  const double half = (kFull.height() / (2.0 * focal)).value();
  const auto ray = [&](Metres along) {
    return (along * std::cos(target.tilt.radians()) / target.depth_at(along)).value();
  };
  RC_ASSERT(std::abs(ray(stretch.near) + half) < 1e-9 * (1 + half));
  if (stretch.far) {
    RC_ASSERT(std::abs(ray(*stretch.far) - half) < 1e-6 * (1 + half));
  } else {
    RC_ASSERT(std::atan(half) + target.tilt.radians() > M_PI / 2 - 1e-5);
  }
}

// At the least distance all corners are in the picture and one edge touches; a little nearer one is out.
RC_GTEST_PROP(View, TheLeastDistanceIsTheLeast, ()) {
  const Bed bed{Metres::from_value(*over(0.05, 2)), Metres::from_value(*over(0.05, 2))};
  const Degrees tilt{*between(0, 80)};
  const Metres focal = Metres::from_value(*over(1.3e-3, 30e-3));
  const Metres least = least_distance(bed, tilt, kFull, focal);
  // How far out the outermost corner is, as a share of half the picture.
  const auto outermost = [&](Metres distance) {
    const Target target{distance, tilt};
    double most = 0;
    for (const Metres& along : {-bed.depth / 2.0, bed.depth / 2.0}) {
      const Metres depth = target.depth_at(along);
      RC_ASSERT(depth > 0_m);
      const double up =
          (abs(along) * std::cos(tilt.radians()) / depth * 2.0 * focal / kFull.height()).value();
      const double across = (bed.width / 2.0 / depth * 2.0 * focal / kFull.width()).value();
      most = std::max({most, up, across});
    }
    return most;
  };
  RC_ASSERT(std::abs(outermost(least) - 1) < 1e-9);
  RC_ASSERT(outermost(least * 1.001) < 1);
}

}  // namespace
}  // namespace rookery::plan
