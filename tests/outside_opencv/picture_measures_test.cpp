// Measures of pictures against OpenCV's own Laplacian, Fourier transform, blur and noise, on photographs of
// Debian's package opencv-doc.
#include <gtest/gtest.h>

#include "tests/support/needs.h"

#ifdef ROOKERY_HAS_OPENCV
#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "vision/noise.h"
#include "vision/sharpness.h"
#include "vision/spectrum.h"

namespace rookery::vision {
namespace {

constexpr const char* kExamples = "/usr/share/doc/opencv-doc/examples/data/";
constexpr const char* kPhotographs[] = {"building.jpg", "home.jpg",  "leuvenA.jpg",
                                        "fruits.jpg",   "graf1.png", "messi5.jpg"};

cv::Mat photograph(const char* name) {
  return cv::imread(std::string(kExamples) + name, cv::IMREAD_GRAYSCALE);
}

jpeg::LumaPlane plane_of(const cv::Mat& picture) {
  jpeg::LumaPlane plane;
  plane.width_px = picture.cols;
  plane.height_px = picture.rows;
  for (int y = 0; y < picture.rows; ++y)
    plane.pixels.insert(plane.pixels.end(), picture.ptr(y), picture.ptr(y) + picture.cols);
  return plane;
}

class MeasuresAgainstOpenCv : public testing::Test {
 protected:
  void SetUp() override {
    for (const char* name : kPhotographs) {
      ROOKERY_NEEDS(!photograph(name).empty(),
                    std::string(name) + " is not there (Debian package opencv-doc)");
    }
  }
};

double opencv_laplacian_variance(const cv::Mat& picture) {
  cv::Mat laplacian;
  cv::Laplacian(picture, laplacian, CV_64F, 1);
  const cv::Mat inner = laplacian(cv::Rect(1, 1, picture.cols - 2, picture.rows - 2));
  cv::Scalar mean;
  cv::Scalar deviation;
  cv::meanStdDev(inner, mean, deviation);
  return deviation[0] * deviation[0];
}

TEST_F(MeasuresAgainstOpenCv, TheVarianceOfTheLaplacianIsThatOfOpenCv) {
  for (const char* name : kPhotographs) {
    cv::Mat picture = photograph(name);
    double before = 1e9;
    for (const double sigma : {0.0, 0.7, 1.5, 3.0}) {
      cv::Mat blurred = picture;
      if (sigma > 0) cv::GaussianBlur(picture, blurred, {}, sigma);
      const double ours = compute_laplacian_variance(plane_of(blurred));
      EXPECT_NEAR(ours, opencv_laplacian_variance(blurred), 1e-6 * ours) << name << " " << sigma;
      EXPECT_LT(ours, before) << name << " " << sigma;
      before = ours;
    }
  }
}

// Variances of independent noise add up: what is measured less what the photograph itself holds is what was
// put in.
TEST_F(MeasuresAgainstOpenCv, NoiseThatWasPutInIsMeasured) {
  for (const char* name : kPhotographs) {
    const cv::Mat picture = photograph(name);
    const double own = compute_noise(plane_of(picture)).value();
    cv::theRNG().state = 4711;
    for (const double sigma : {4.0, 8.0, 12.0}) {
      cv::Mat noise(picture.size(), CV_64F);
      cv::randn(noise, 0, sigma);
      cv::Mat sum;
      picture.convertTo(sum, CV_64F);
      sum += noise;
      cv::Mat noisy;
      sum.convertTo(noisy, CV_8U);
      const double measured = compute_noise(plane_of(noisy)).value();
      EXPECT_NEAR(std::sqrt(measured * measured - own * own), sigma, 0.15 * sigma) << name << ", own " << own;
    }
  }
}

// OpenCV draws a slanted half-plane, each pixel the mean of 16×16 parts, and blurs it. Its pixel has a
// response of its own, so the widths add in squares: what the blur adds is the σ that was asked for.
TEST_F(MeasuresAgainstOpenCv, Mtf50OfABlurredEdgeIs1874OverSigma) {
  constexpr int kParts = 16;
  cv::Mat fine(128 * kParts, 128 * kParts, CV_8U, cv::Scalar(60));
  const std::vector<cv::Point> half = {
      {70 * kParts, 0}, {128 * kParts, 0}, {128 * kParts, 128 * kParts}, {58 * kParts, 128 * kParts}};
  cv::fillPoly(fine, std::vector<std::vector<cv::Point>>{half}, cv::Scalar(190));
  cv::Mat edge;
  cv::resize(fine, edge, {128, 128}, 0, 0, cv::INTER_AREA);
  const PixelBox box{24, 32, 80, 64};
  const auto width_of = [&](const cv::Mat& picture) {
    return 0.1874 / measure_edge(plane_of(picture), box, true).value().mtf50_cycles_per_px;
  };
  for (const double sigma : {1.0, 1.5, 2.0, 3.0}) {
    cv::Mat blurred;
    cv::GaussianBlur(edge, blurred, {}, sigma);
    // A pixel's box has the variance 1/12.
    EXPECT_NEAR(width_of(blurred), std::sqrt(sigma * sigma + 1.0 / 12), 0.05 * sigma) << sigma;
  }
  // Of the sharp edge: the box alone, |sinc f| = ½ at f = 0.6034 cycles a pixel.
  EXPECT_NEAR(measure_edge(plane_of(edge), box, true)->mtf50_cycles_per_px, 0.6034, 0.05);
}

TEST_F(MeasuresAgainstOpenCv, SpectralLinesAreThoseOfOpenCvsTransform) {
  cv::Mat rows;
  cv::reduce(photograph("home.jpg"), rows, 1, cv::REDUCE_AVG, CV_64F);
  std::vector<double> values(rows.begin<double>(), rows.end<double>());
  cv::Mat spectrum;
  cv::dft(rows, spectrum, cv::DFT_COMPLEX_OUTPUT);
  for (int k = 0; k < rows.rows / 2; ++k) {
    const auto line = compute_line(values, static_cast<double>(k) / rows.rows);
    const auto theirs = spectrum.at<cv::Vec2d>(k);
    EXPECT_NEAR(line.real(), theirs[0], 1e-6) << k;
    EXPECT_NEAR(line.imag(), theirs[1], 1e-6) << k;
  }
}

}  // namespace
}  // namespace rookery::vision

#else

TEST(MeasuresAgainstOpenCv, Run) {
  ROOKERY_NEEDS(false, "built without OpenCV (Debian packages libopencv-video-dev, libopencv-imgcodecs-dev)");
}

#endif
