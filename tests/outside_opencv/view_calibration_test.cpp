// Angles of view and the projection of a tilted bed against OpenCV's cv::calibrationMatrixValues and
// cv::projectPoints.
#include <gtest/gtest.h>

#include "tests/support/needs.h"

#ifdef ROOKERY_HAS_OPENCV_CALIB3D
#include <cmath>
#include <opencv2/calib3d.hpp>

#include "plan/view.h"

namespace rookery::plan {
namespace {

struct Case {
  Sensor sensor;
  double diagonal_deg;
  int width_px;
  int height_px;
};

const std::vector<Case> kCases = {
    {usual_sensor(), 68, 1600, 1200},      {usual_sensor(), 68, 800, 600},
    {usual_sensor(), 68, 640, 480},        {usual_sensor(), 120, 1600, 1200},
    {usual_sensor(), 25, 320, 240},        {{1.4_um, 2592, 1944}, 76, 2592, 1944},
    {{1.4_um, 2592, 1944}, 76, 1296, 972}, {{3_um, 1920, 1080}, 90, 1920, 1080},
};

// The camera's matrix for a picture: focal length and middle in its pixels.
cv::Mat matrix_of(const Picture& picture, Metres focal) {
  const double f = (focal / picture.pixel).value();
  return (cv::Mat_<double>(3, 3) << f, 0, picture.width_px / 2.0, 0, f, picture.height_px / 2.0, 0, 0, 1);
}

TEST(ViewAgainstOpenCv, AnglesAndFocalLength) {
  for (const Case& one : kCases) {
    const Metres focal = focal_length(one.sensor.diagonal(), {one.diagonal_deg});
    const Picture picture = picture_on(one.sensor, one.width_px, one.height_px);
    double across = 0;
    double up = 0;
    double focal_mm = 0;
    cv::Point2d middle;
    double aspect = 0;
    cv::calibrationMatrixValues(matrix_of(picture, focal), {picture.width_px, picture.height_px},
                                picture.width().value() * 1000, picture.height().value() * 1000, across, up,
                                focal_mm, middle, aspect);
    EXPECT_NEAR(angle_of_view(picture.width(), focal).degrees, across, 1e-9);
    EXPECT_NEAR(angle_of_view(picture.height(), focal).degrees, up, 1e-9);
    EXPECT_NEAR(focal.value() * 1000, focal_mm, 1e-9);
    EXPECT_NEAR(middle.x, picture.width().value() * 500, 1e-9);
  }
}

// Where OpenCV sees points of a bed: along it (u), across it (x) and above it (h), leaned back by the tilt.
class Eye {
 public:
  Eye(const Picture& picture, Metres focal, const Target& target)
      : matrix_(matrix_of(picture, focal)), shift_(0, 0, target.distance.value()) {
    // OpenCV's y runs down, so that the far side of a bed lies at −y; turned about x, it comes to lie
    // farther.
    turn_ = cv::Vec3d(-target.tilt.radians(), 0, 0);
  }
  cv::Point2d operator()(double u, double x, double h) const {
    std::vector<cv::Point2d> out;
    cv::projectPoints(std::vector<cv::Point3d>{{x, -u, -h}}, turn_, shift_, matrix_, cv::noArray(), out);
    return out[0];
  }

 private:
  cv::Mat matrix_;
  cv::Vec3d turn_;
  cv::Vec3d shift_;
};

TEST(ViewAgainstOpenCv, DensitiesOfATiltedBed) {
  constexpr double kStep = 1e-5;
  for (const Case& one : kCases) {
    const Metres focal = focal_length(one.sensor.diagonal(), {one.diagonal_deg});
    const Picture picture = picture_on(one.sensor, one.width_px, one.height_px);
    for (const double tilt : {0.0, 20.0, 35.0, 60.0, 80.0}) {
      const Target target{0.4_m, {tilt}};
      const Eye eye(picture, focal, target);
      for (const double u : {-0.11, 0.0, 0.11}) {
        const Metres along = Metres::from_value(u);
        const double across = (eye(u, kStep, 0).x - eye(u, -kStep, 0).x) / (2 * kStep);
        const double slope = (eye(u - kStep, 0, 0).y - eye(u + kStep, 0, 0).y) / (2 * kStep);
        const double upright = (eye(u, 0, -kStep).y - eye(u, 0, kStep).y) / (2 * kStep);
        const double scale = density_at(focal, picture.pixel, target.depth_at(along)).value();
        EXPECT_NEAR(scale, across, 1e-5 * scale) << tilt << ' ' << u;
        EXPECT_NEAR(density_along(focal, picture.pixel, target, along).value(), slope, 1e-5 * scale)
            << tilt << ' ' << u;
        EXPECT_NEAR(density_upright(focal, picture.pixel, target, along).value(), upright, 1e-5 * scale)
            << tilt << ' ' << u;
      }
    }
  }
}

TEST(ViewAgainstOpenCv, TheLeastDistanceBringsTheLastCornerIn) {
  for (const Case& one : kCases) {
    const Metres focal = focal_length(one.sensor.diagonal(), {one.diagonal_deg});
    const Picture picture = picture_on(one.sensor, one.width_px, one.height_px);
    for (const double tilt : {0.0, 20.0, 35.0, 60.0, 80.0}) {
      for (const Bed& bed : {Bed{0.22_m, 0.22_m}, Bed{0.35_m, 0.2_m}, Bed{0.2_m, 0.4_m}}) {
        const Metres least = least_distance(bed, {tilt}, picture, focal);
        // How far outside the picture the outermost corner is, in pixels; negative inside.
        const auto outside = [&](Metres distance) {
          const Eye eye(picture, focal, {distance, {tilt}});
          double most = -1e9;
          for (const double u : {-bed.depth.value() / 2, bed.depth.value() / 2}) {
            for (const double x : {-bed.width.value() / 2, bed.width.value() / 2}) {
              const cv::Point2d at = eye(u, x, 0);
              most = std::max({most, -at.x, -at.y, at.x - picture.width_px, at.y - picture.height_px});
            }
          }
          return most;
        };
        EXPECT_NEAR(outside(least), 0, 1e-6) << tilt;
        EXPECT_GT(outside(least * 0.99), 0) << tilt;
        EXPECT_LT(outside(least * 1.01), 0) << tilt;
      }
    }
  }
}

TEST(ViewAgainstOpenCv, TheVisibleStretchEndsAtThePicturesEdges) {
  for (const Case& one : kCases) {
    const Metres focal = focal_length(one.sensor.diagonal(), {one.diagonal_deg});
    const Picture picture = picture_on(one.sensor, one.width_px, one.height_px);
    for (const double tilt : {0.0, 20.0, 35.0, 60.0, 80.0}) {
      const Target target{0.4_m, {tilt}};
      const Stretch stretch = visible_stretch(picture, focal, target);
      const Eye eye(picture, focal, target);
      EXPECT_NEAR(eye(stretch.near.value(), 0, 0).y, picture.height_px, 1e-6) << tilt;
      if (stretch.far) EXPECT_NEAR(eye(stretch.far->value(), 0, 0).y, 0, 1e-6) << tilt;
    }
  }
}

}  // namespace
}  // namespace rookery::plan
#else

TEST(ViewAgainstOpenCv, Run) {
  ROOKERY_NEEDS(false, "built without OpenCV's calibration (Debian package libopencv-calib3d-dev)");
}

#endif
