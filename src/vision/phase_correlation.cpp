// The transform is libavutil's: it is linked anyway for the films, its licence (LGPL) fits, it takes sides of
// 3·2ⁿ, 5·2ⁿ and 15·2ⁿ besides powers of two, so that a picture of 320×240 needs no padding, and it is as
// fast as those that would be one more package.
#include "vision/phase_correlation.h"

#include <algorithm>
#include <cmath>
#include <new>
#include <numbers>

extern "C" {
#include <libavutil/mem.h>
#include <libavutil/tx.h>
}

namespace rookery::vision {
namespace {

constexpr int kLongest = 320;
// Box blurs of this radius take off what is no detail: light, and the edges of the mask with it.
constexpr int kBlur = 6;
// The weight of a frequency falls as a Gaussian of this deviation, cycles a pixel: higher ones are noise and
// the camera's own 8×8 blocks. The peak is a Gaussian then too, and its logarithm a parabola.
constexpr double kPassed = 0.15;

std::size_t place(int x, int y, int width) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
}

int longest_side(int at_most) {
  int best = 0;
  for (const int odd : {1, 3, 5, 15}) {
    for (int side = odd * 16; side <= at_most; side *= 2) best = std::max(best, side);
  }
  return best;
}

// Mean over (2·radius+1) values along lines of `count`, the ends repeated.
void blur_lines(std::vector<float>& values, int count, int step, int lines, int stride, int radius) {
  std::vector<float> line(static_cast<std::size_t>(count));
  const auto at = [&](int l, int i) {
    return static_cast<std::size_t>(l * stride + std::clamp(i, 0, count - 1) * step);
  };
  for (int l = 0; l < lines; ++l) {
    double sum = 0;
    for (int i = -radius; i <= radius; ++i) sum += static_cast<double>(values[at(l, i)]);
    for (int i = 0; i < count; ++i) {
      line[static_cast<std::size_t>(i)] = static_cast<float>(sum / (2 * radius + 1));
      sum += static_cast<double>(values[at(l, i + radius + 1)] - values[at(l, i - radius)]);
    }
    for (int i = 0; i < count; ++i) values[at(l, i)] = line[static_cast<std::size_t>(i)];
  }
}

void blur(std::vector<float>& values, int width, int height, int radius) {
  for (int pass = 0; pass < 2; ++pass) {
    blur_lines(values, width, 1, height, width, radius);
    blur_lines(values, height, width, width, 1, radius);
  }
}

double hann(int i, int count) { return 0.5 - 0.5 * std::cos(2 * std::numbers::pi * (i + 0.5) / count); }

// Of three values with the largest in the middle: how far from the middle a Gaussian through them peaks, and
// how much higher.
struct Peak {
  double off = 0;
  double factor = 1;
};
Peak gaussian_peak(double before, double middle, double after) {
  if (before <= 0 || middle <= 0 || after <= 0) return {};
  const double a = std::log(before);
  const double b = std::log(middle);
  const double c = std::log(after);
  const double bend = a - 2 * b + c;
  if (bend >= -1e-9) return {};
  const double off = std::clamp(0.5 * (a - c) / bend, -0.5, 0.5);
  return {off, std::exp(-0.125 * (a - c) * (a - c) / bend)};
}

}  // namespace

// A transform of one size, both ways, over rows and columns.
class PhaseCorrelation::Transform {
 public:
  Transform(int columns, int rows) : columns_(columns), rows_(rows) {
    for (const bool back : {false, true}) {
      open(back ? along_back_ : along_, columns, back);
      open(back ? down_back_ : down_, rows, back);
    }
    const auto longest = static_cast<std::size_t>(std::max(columns, rows));
    line_ = allocate(longest);
    out_ = allocate(longest);
  }
  ~Transform() {
    for (One* one : {&along_, &along_back_, &down_, &down_back_}) av_tx_uninit(&one->context);
    av_free(line_);
    av_free(out_);
  }
  Transform(const Transform&) = delete;
  Transform& operator=(const Transform&) = delete;

  void forward(std::vector<float>& values) { both(values, along_, down_); }
  void back(std::vector<float>& values) { both(values, along_back_, down_back_); }

 private:
  struct One {
    AVTXContext* context = nullptr;
    av_tx_fn run = nullptr;
  };
  static void open(One& one, int length, bool back) {
    const float scale = 1;
    if (av_tx_init(&one.context, &one.run, AV_TX_FLOAT_FFT, back ? 1 : 0, length, &scale, 0) < 0)
      throw std::bad_alloc();
  }
  // Aligned as the transform wants it.
  static AVComplexFloat* allocate(std::size_t count) {
    void* memory = av_malloc_array(count, sizeof(AVComplexFloat));
    if (memory == nullptr) throw std::bad_alloc();
    return static_cast<AVComplexFloat*>(memory);
  }
  void lines(std::vector<float>& values, const One& one, int lines, int stride, int count, int step) {
    for (int l = 0; l < lines; ++l) {
      for (int i = 0; i < count; ++i) {
        const auto at = 2 * static_cast<std::size_t>(l * stride + i * step);
        line_[i] = {values[at], values[at + 1]};
      }
      one.run(one.context, out_, line_, sizeof(AVComplexFloat));
      for (int i = 0; i < count; ++i) {
        const auto at = 2 * static_cast<std::size_t>(l * stride + i * step);
        values[at] = out_[i].re;
        values[at + 1] = out_[i].im;
      }
    }
  }
  void both(std::vector<float>& values, const One& along, const One& down) {
    lines(values, along, rows_, columns_, columns_, 1);
    lines(values, down, columns_, 1, rows_, columns_);
  }

  int columns_;
  int rows_;
  One along_, along_back_, down_, down_back_;
  AVComplexFloat* line_ = nullptr;
  AVComplexFloat* out_ = nullptr;
};

PhaseCorrelation::PhaseCorrelation(int width_px, int height_px, std::span<const float> weights)
    : reduced_((std::max(width_px, height_px) + kLongest - 1) / kLongest),
      width_(width_px / reduced_),
      height_(height_px / reduced_),
      columns_(longest_side(width_)),
      rows_(longest_side(height_)),
      transform_(std::make_unique<Transform>(columns_, rows_)) {
  std::vector<float> counted(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_));
  for (int y = 0; y < height_; ++y) {
    for (int x = 0; x < width_; ++x)
      counted[place(x, y, width_)] = weights[place(x * reduced_, y * reduced_, width_px)];
  }
  // Soft edges, which move nothing.
  blur(counted, width_, height_, kBlur);
  const int left = (width_ - columns_) / 2;
  const int top = (height_ - rows_) / 2;
  double sum = 0;
  for (int y = 0; y < rows_; ++y) {
    for (int x = 0; x < columns_; ++x) {
      window_.push_back(counted[place(x + left, y + top, width_)] *
                        static_cast<float>(hann(x, columns_) * hann(y, rows_)));
      const double fx = static_cast<double>(std::min(x, columns_ - x)) / columns_;
      const double fy = static_cast<double>(std::min(y, rows_ - y)) / rows_;
      low_pass_.push_back(static_cast<float>(std::exp(-(fx * fx + fy * fy) / (2 * kPassed * kPassed))));
      sum += static_cast<double>(low_pass_.back());
    }
  }
  for (float& weight : low_pass_) weight = static_cast<float>(static_cast<double>(weight) / sum);
}

PhaseCorrelation::~PhaseCorrelation() = default;

Spectrum PhaseCorrelation::compute(const jpeg::LumaPlane& plane, int right, int down) {
  std::vector<float> small;
  small.reserve(static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_));
  for (int y = 0; y < height_; ++y) {
    for (int x = 0; x < width_; ++x) {
      int sum = 0;
      for (int row = y * reduced_; row < (y + 1) * reduced_; ++row) {
        for (int i = 0; i < reduced_; ++i) sum += plane.row(row)[place(i, x, reduced_)];
      }
      small.push_back(static_cast<float>(sum) / static_cast<float>(reduced_ * reduced_));
    }
  }
  std::vector<float> smooth = small;
  blur(smooth, width_, height_, kBlur);
  Spectrum out;
  out.values.reserve(2 * window_.size());
  double sum = 0;
  double weight = 0;
  const int left = (width_ - columns_) / 2;
  const int top = (height_ - rows_) / 2;
  for (int y = 0; y < rows_; ++y) {
    for (int x = 0; x < columns_; ++x) {
      const int from_x = std::clamp(x + left + right, 0, width_ - 1);
      const int from_y = std::clamp(y + top + down, 0, height_ - 1);
      const std::size_t at = place(from_x, from_y, width_);
      const float detail = (small[at] - smooth[at]) * window_[out.detail.size()];
      out.detail.push_back(detail);
      out.values.push_back(detail);
      out.values.push_back(0);
      sum += static_cast<double>(detail * detail);
      weight += static_cast<double>(window_[out.detail.size() - 1] * window_[out.detail.size() - 1]);
    }
  }
  out.contrast = weight > 0 ? std::sqrt(sum / weight) : 0;
  transform_->forward(out.values);
  return out;
}

Shift PhaseCorrelation::compare(const Spectrum& before, const Spectrum& now) {
  std::vector<float> cross(before.values.size());
  for (std::size_t i = 0; i < low_pass_.size(); ++i) {
    const float a = now.values[2 * i];
    const float b = now.values[2 * i + 1];
    const float c = before.values[2 * i];
    const float d = before.values[2 * i + 1];
    const float re = a * c + b * d;
    const float im = b * c - a * d;
    const float size = std::sqrt(re * re + im * im);
    const float weight = size > 1e-12F ? low_pass_[i] / size : 0;
    cross[2 * i] = re * weight;
    cross[2 * i + 1] = im * weight;
  }
  transform_->back(cross);
  std::size_t best = 0;
  for (std::size_t i = 0; i < low_pass_.size(); ++i) {
    if (cross[2 * i] > cross[2 * best]) best = i;
  }
  const int x = static_cast<int>(best) % columns_;
  const int y = static_cast<int>(best) / columns_;
  const auto value = [&](int dx, int dy) {
    const int xx = (x + dx + columns_) % columns_;
    const int yy = (y + dy + rows_) % rows_;
    return static_cast<double>(cross[2 * static_cast<std::size_t>(yy * columns_ + xx)]);
  };
  const Peak across = gaussian_peak(value(-1, 0), value(0, 0), value(1, 0));
  const Peak down = gaussian_peak(value(0, -1), value(0, 0), value(0, 1));
  const auto wrapped = [](int at, int count) { return at > count / 2 ? at - count : at; };
  return {(wrapped(x, columns_) + across.off) * reduced_, (wrapped(y, rows_) + down.off) * reduced_,
          std::clamp(value(0, 0) * across.factor * down.factor, 0.0, 1.0)};
}

Shift PhaseCorrelation::compare_closely(const Spectrum& before, const Spectrum& now,
                                        const jpeg::LumaPlane& plane) {
  const Shift first = compare(before, now);
  const auto right = static_cast<int>(std::lround(first.dx_px / reduced_));
  const auto down = static_cast<int>(std::lround(first.dy_px / reduced_));
  if (right == 0 && down == 0) return first;
  const Shift rest = compare(before, compute(plane, right, down));
  // Where it is no better, the first was no shift.
  if (rest.peak < first.peak) return first;
  return {rest.dx_px + right * reduced_, rest.dy_px + down * reduced_, rest.peak};
}

double PhaseCorrelation::compare_in_place(const Spectrum& before, const Spectrum& now) {
  double aa = 0;
  double bb = 0;
  double ab = 0;
  for (std::size_t i = 0; i < now.detail.size(); ++i) {
    const auto a = static_cast<double>(before.detail[i]);
    const auto b = static_cast<double>(now.detail[i]);
    aa += a * a;
    bb += b * b;
    ab += a * b;
  }
  return aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0;
}

}  // namespace rookery::vision
