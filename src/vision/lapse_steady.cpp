#include "vision/lapse_steady.h"

#include <cmath>

#include "vision/phase_correlation.h"

namespace rookery::vision {
namespace {

constexpr double kLeastStill = 0.1;
// The reference is made anew when the picture has grown away from it so far.
constexpr double kStale = 0.5;
// So many frames that are like each other, but unlike those before, are another view.
constexpr int kAnotherView = 3;
// Grey levels: a picture with less detail is dark or covered, and tells nothing of where the camera looks.
constexpr double kLeastContrast = 0.7;
// Detail in its place correlates at least so well when only the light has changed.
constexpr double kSameView = 0.25;

base::Error bad(std::string what) { return {base::ErrorCode::invalid_value, "steadying", std::move(what)}; }

}  // namespace

class Steadier::Body {
 public:
  Body(int width_px, int height_px, std::span<const float> weights, const SteadyOptions& options)
      : width_px_(width_px), height_px_(height_px), o_(options), correlation_(width_px, height_px, weights) {}

  base::Result<void> add(const jpeg::LumaPlane& frame, double at_s);
  SteadyPlan finish() { return std::move(plan_); }

 private:
  void match(Spectrum now, const Shift& shift, double at_s);
  void miss(Spectrum now, const Shift& shift, double at_s);
  void begin(Spectrum reference, double dx, double dy) {
    reference_ = std::move(reference);
    reference_dx_ = dx;
    reference_dy_ = dy;
  }
  void cut(std::size_t frame, double at_s, std::string why) {
    plan_.cuts.push_back({frame, at_s, std::move(why)});
    dx_ = dy_ = 0;
  }
  void say(double peak) {
    const bool moved = std::hypot(dx_, dy_) > o_.least_px;
    plan_.frames.push_back({moved ? dx_ : 0, moved ? dy_ : 0, peak});
  }

  const int width_px_;
  const int height_px_;
  const SteadyOptions o_;
  PhaseCorrelation correlation_;
  SteadyPlan plan_;
  Spectrum reference_;
  double reference_dx_ = 0;
  double reference_dy_ = 0;
  double dx_ = 0;  // of the last frame that was matched
  double dy_ = 0;
  // Frames that were not: the first of them that the others are like.
  Spectrum stranger_;
  std::size_t stranger_frame_ = 0;
  double stranger_at_s_ = 0;
  int strangers_ = 0;
};

base::Result<void> Steadier::Body::add(const jpeg::LumaPlane& frame, double at_s) {
  const auto pixels = static_cast<std::size_t>(width_px_) * static_cast<std::size_t>(height_px_);
  if (frame.width_px != width_px_ || frame.height_px != height_px_ || frame.pixels.size() != pixels)
    return bad(fmt::format("a frame of {}×{} pixels among such of {}×{}", frame.width_px, frame.height_px,
                           width_px_, height_px_));
  Spectrum now = correlation_.compute(frame);
  if (reference_.empty() || reference_.contrast < kLeastContrast) {
    begin(std::move(now), 0, 0);
    say(1);
    return base::ok();
  }
  if (now.contrast < kLeastContrast) {
    say(0);
    return base::ok();
  }
  const Shift shift = correlation_.compare_closely(reference_, now, frame);
  if (shift.peak >= o_.least_peak) {
    match(std::move(now), shift, at_s);
  } else {
    miss(std::move(now), shift, at_s);
  }
  return base::ok();
}

void Steadier::Body::match(Spectrum now, const Shift& shift, double at_s) {
  strangers_ = 0;
  dx_ = reference_dx_ + shift.dx_px;
  dy_ = reference_dy_ + shift.dy_px;
  const double across = std::abs(dx_) / width_px_;
  const double down = std::abs(dy_) / height_px_;
  if (std::max(across, down) > o_.most_share) {
    const double moved_px = std::hypot(dx_, dy_);
    cut(plan_.frames.size(), at_s,
        fmt::format("the camera was moved: the picture lies {:.0f} px from where it was, {:.0f} % of its {}",
                    moved_px, 100 * std::max(across, down), across >= down ? "width" : "height"));
    begin(std::move(now), 0, 0);
  } else if (shift.peak < kStale) {
    begin(std::move(now), dx_, dy_);
  }
  say(shift.peak);
}

// A hand before the lens goes away again; another view stays.
void Steadier::Body::miss(Spectrum now, const Shift& shift, double at_s) {
  const bool again = strangers_ > 0 && correlation_.compare(stranger_, now).peak >= o_.least_peak;
  strangers_ = again ? strangers_ + 1 : 1;
  if (!again) {
    stranger_ = std::move(now);
    stranger_frame_ = plan_.frames.size();
    stranger_at_s_ = at_s;
  }
  say(shift.peak);
  if (strangers_ < kAnotherView) return;
  strangers_ = 0;
  if (PhaseCorrelation::compare_in_place(reference_, stranger_) < kSameView) {
    cut(stranger_frame_, stranger_at_s_, "another view: nothing in the picture lies where it was");
    for (std::size_t i = stranger_frame_; i < plan_.frames.size(); ++i)
      plan_.frames[i].dx_px = plan_.frames[i].dy_px = 0;
  }
  begin(std::move(stranger_), dx_, dy_);
}

Steadier::Steadier(std::unique_ptr<Body> body) : body_(std::move(body)) {}
Steadier::Steadier(Steadier&&) noexcept = default;
Steadier& Steadier::operator=(Steadier&&) noexcept = default;
Steadier::~Steadier() = default;

base::Result<Steadier> Steadier::make(int width_px, int height_px, std::span<const std::uint8_t> still,
                                      int columns, int rows, const SteadyOptions& o) {
  if (width_px < 64 || height_px < 48 || width_px > 4096 || height_px > 4096)
    return bad(fmt::format("a picture of {}×{} pixels: give 64×48 to 4096×4096", width_px, height_px));
  if (!(o.least_px >= 0 && o.least_px <= 8) || !(o.least_peak >= 0.05 && o.least_peak <= 1) ||
      !(o.most_share > 0 && o.most_share <= 0.25))
    return bad(
        fmt::format("shifts from {} px with a peak of {} to a share of {}: give 0 to 8, 0.05 to 1, above 0 "
                    "to 0.25",
                    o.least_px, o.least_peak, o.most_share));
  std::vector<float> weights(static_cast<std::size_t>(width_px) * static_cast<std::size_t>(height_px), 1);
  if (!still.empty()) {
    if (columns < 1 || rows < 1 ||
        still.size() != static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows))
      return bad(fmt::format("{} cells for {}×{}", still.size(), columns, rows));
    const auto count = std::ranges::count_if(still, [](std::uint8_t cell) { return cell != 0; });
    if (static_cast<double>(count) < kLeastStill * static_cast<double>(still.size()))
      return bad("less than a tenth of the picture is still: there is nothing to hold on to");
    for (std::size_t i = 0; i < weights.size(); ++i) {
      const auto x = i % static_cast<std::size_t>(width_px) * static_cast<std::size_t>(columns) /
                     static_cast<std::size_t>(width_px);
      const auto y = i / static_cast<std::size_t>(width_px) * static_cast<std::size_t>(rows) /
                     static_cast<std::size_t>(height_px);
      weights[i] = still[y * static_cast<std::size_t>(columns) + x] != 0 ? 1.0F : 0.0F;
    }
  }
  return Steadier(std::make_unique<Body>(width_px, height_px, weights, o));
}

base::Result<void> Steadier::add(const jpeg::LumaPlane& frame, double at_s) {
  return body_->add(frame, at_s);
}
SteadyPlan Steadier::finish() { return body_->finish(); }

// Both weights are the same for all pixels of the plane, so a row is four sums that the compiler makes vector
// instructions of.
void shift_plane(const PlaneView& from, double dx, double dy, const PlaneView& to) {
  constexpr int kOne = 64;
  const double left = std::floor(-dx);
  const double top = std::floor(-dy);
  const int fx = static_cast<int>(std::lround((-dx - left) * kOne));
  const int fy = static_cast<int>(std::lround((-dy - top) * kOne));
  const int x0 = static_cast<int>(std::clamp(left, -65536.0, 65536.0));
  const int y0 = static_cast<int>(std::clamp(top, -65536.0, 65536.0));
  const auto width = static_cast<std::size_t>(from.width);
  std::vector<std::uint8_t> above(width + 1);
  std::vector<std::uint8_t> below(width + 1);
  const auto fill = [&](std::vector<std::uint8_t>& line, int y) {
    const std::uint8_t* row = from.row(std::clamp(y, 0, from.height - 1));
    for (std::size_t x = 0; x <= width; ++x)
      line[x] = row[std::clamp(static_cast<int>(x) + x0, 0, from.width - 1)];
  };
  for (int y = 0; y < from.height; ++y) {
    fill(above, y + y0);
    fill(below, y + y0 + 1);
    std::uint8_t* out = to.row(y);
    for (std::size_t x = 0; x < width; ++x) {
      const int a = above[x] * (kOne - fx) + above[x + 1] * fx;
      const int b = below[x] * (kOne - fx) + below[x + 1] * fx;
      out[x] = static_cast<std::uint8_t>((a * (kOne - fy) + b * fy + kOne * kOne / 2) / (kOne * kOne));
    }
  }
}

}  // namespace rookery::vision
