// Measures of pictures against OpenCV's own Laplacian, Fourier transform, blur and noise, on photographs of
// Debian's packages opencv-doc and python3-skimage.
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

const std::string kOpenCvDoc = "/usr/share/doc/opencv-doc/examples/data/";
const std::string kSkimage =
    std::string(SOURCE_ROOT) + "/build/pictures/";  // scripts/packages.sh: need_pictures
const std::vector<std::string> kPhotographs = {
    kOpenCvDoc + "building.jpg", kOpenCvDoc + "home.jpg",         kOpenCvDoc + "leuvenA.jpg",
    kOpenCvDoc + "fruits.jpg",   kOpenCvDoc + "graf1.png",        kOpenCvDoc + "messi5.jpg",
    kSkimage + "camera.png",     kSkimage + "coffee.png",         kSkimage + "chelsea.png",
    kSkimage + "astronaut.png",  kSkimage + "coins.png",          kSkimage + "rocket.jpg",
    kSkimage + "moon.png",       kSkimage + "motorcycle_left.png"};

cv::Mat photograph(const std::string& file) { return cv::imread(file, cv::IMREAD_GRAYSCALE); }

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
    for (const std::string& name : kPhotographs) {
      ROOKERY_NEEDS(!photograph(name).empty(),
                    name + " is not there (Debian packages opencv-doc, python3-skimage; " +
                        "of the latter the pictures only: scripts/packages.sh)");
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
  for (const std::string& name : kPhotographs) {
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
  for (const std::string& name : kPhotographs) {
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

// Immerkaer 1996 as published - the whole picture through his mask, by OpenCV's own filter - on pictures of
// noise alone: there is no structure that blocks would have to avoid, so both must agree, and with the sigma
// that was put in.
TEST_F(MeasuresAgainstOpenCv, OnFlatPicturesNoiseIsThatOfThePublishedFormula) {
  const cv::Mat mask = (cv::Mat_<double>(3, 3) << 1, -2, 1, -2, 4, -2, 1, -2, 1);
  cv::theRNG().state = 4711;
  for (const double sigma : {2.0, 5.0, 10.0}) {
    cv::Mat values(480, 640, CV_64F), picture, filtered;
    cv::randn(values, 120, sigma);
    values.convertTo(picture, CV_8U);
    cv::filter2D(picture, filtered, CV_64F, mask);
    const cv::Mat inner = cv::abs(filtered(cv::Rect(1, 1, 638, 478)));
    const double published = std::sqrt(M_PI / 2) / (6.0 * 638 * 478) * cv::sum(inner)[0];
    EXPECT_NEAR(published, sigma, 0.03 * sigma);
    EXPECT_NEAR(compute_noise(plane_of(picture)).value(), published, 0.1 * published) << sigma;
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
  cv::reduce(photograph(kOpenCvDoc + "home.jpg"), rows, 1, cv::REDUCE_AVG, CV_64F);
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
