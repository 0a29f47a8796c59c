#include "vision/lapse_steady.h"

#include <cmath>
#include <numbers>

#include "vision/phase_correlation.h"
#include "vision/rigid_match.h"

namespace rookery::vision {
namespace {

constexpr double kLeastStill = 0.1;
// The reference is made anew when the picture has grown away from it so far.
constexpr double kStale = 0.5;
// So many frames that are like each other, but unlike those before, are another view.
constexpr int kAnotherView = 3;
// Grey levels: a picture with less detail is dark or covered, and tells nothing of where the camera looks.
constexpr double kLeastContrast = 0.7;
// A turn is believed when the detail agrees so well once it is taken back, and better so than without it: a
// tenth of a degree makes soft detail agree better by some thousandths, noise by some hundred thousandths.
constexpr double kSureTurn = 0.6;
constexpr double kBetter = 0.0005;
// Turns are looked for so far beyond those that are taken back, to be told.
constexpr double kBeyond_deg = 3;
// Detail in its place correlates at least so well when only the light has changed.
constexpr double kSameView = 0.25;

base::Error bad(std::string what) { return {base::ErrorCode::invalid_value, "steadying", std::move(what)}; }

}  // namespace

class Steadier::Body {
 public:
  Body(int width_px, int height_px, std::span<const float> weights, const SteadyOptions& options)
      : width_px_(width_px),
        height_px_(height_px),
        o_(options),
        correlation_(width_px, height_px, weights),
        match_(width_px, height_px, weights) {}

  base::Result<void> add(const jpeg::LumaPlane& frame, double at_s);
  SteadyPlan finish() { return std::move(plan_); }

 private:
  struct Seen {
    Spectrum spectrum;
    MatchPicture picture;
  };
  // Where it lies against the reference, and how certain that is.
  struct Found {
    RigidMove move;
    double peak = 0;
  };
  Found find(const Seen& now, const jpeg::LumaPlane& frame);
  void match(Seen now, const Found& found, double at_s);
  void miss(Seen now, double peak, double at_s);
  void begin(Seen reference, const RigidMove& at) {
    reference_ = std::move(reference);
    reference_at_ = at;
  }
  std::string moved_too_far() const;
  void cut(std::size_t frame, double at_s, std::string why) {
    plan_.cuts.push_back({frame, at_s, std::move(why)});
    at_ = {};
  }
  void say(double peak) {
    const bool turned = std::abs(at_.turn_deg) >= o_.least_turn_deg;
    const bool moved = turned || std::hypot(at_.dx_px, at_.dy_px) > o_.least_px;
    plan_.frames.push_back({moved ? at_.dx_px : 0, moved ? at_.dy_px : 0, turned ? at_.turn_deg : 0, peak});
  }

  const int width_px_;
  const int height_px_;
  const SteadyOptions o_;
  PhaseCorrelation correlation_;
  RigidMatch match_;
  SteadyPlan plan_;
  Seen reference_;
  RigidMove reference_at_;
  RigidMove at_;  // of the last frame that was matched
  // Frames that were not: the first of them that the others are like.
  Seen stranger_;
  std::size_t stranger_frame_ = 0;
  double stranger_at_s_ = 0;
  int strangers_ = 0;
};

base::Result<void> Steadier::Body::add(const jpeg::LumaPlane& frame, double at_s) {
  const auto pixels = static_cast<std::size_t>(width_px_) * static_cast<std::size_t>(height_px_);
  if (frame.width_px != width_px_ || frame.height_px != height_px_ || frame.pixels.size() != pixels)
    return bad(fmt::format("a frame of {}×{} pixels among such of {}×{}", frame.width_px, frame.height_px,
                           width_px_, height_px_));
  Seen now{correlation_.compute(frame), match_.compute(frame)};
  if (reference_.spectrum.empty() || reference_.spectrum.contrast < kLeastContrast) {
    begin(std::move(now), {});
    say(1);
    return base::ok();
  }
  if (now.spectrum.contrast < kLeastContrast) {
    say(0);
    return base::ok();
  }
  const Found found = find(now, frame);
  if (found.peak >= o_.least_peak) {
    match(std::move(now), found, at_s);
  } else {
    miss(std::move(now), found.peak, at_s);
  }
  return base::ok();
}

// A shift alone is told best by its phase; what is turned as well is refined from there, or searched for
// where there is no beginning.
Steadier::Body::Found Steadier::Body::find(const Seen& now, const jpeg::LumaPlane& frame) {
  const Shift shift = correlation_.compare_closely(reference_.spectrum, now.spectrum, frame);
  const bool told = shift.peak >= o_.least_peak;
  const Found shifted{{shift.dx_px, shift.dy_px, 0}, shift.peak};
  if (o_.most_turn_deg <= 0) return shifted;
  const double like = told ? match_.likeness(reference_.picture, now.picture, shifted.move) : 0;
  RigidMove move = told ? match_.match(reference_.picture, now.picture, shifted.move) : RigidMove{};
  double turned_like = match_.likeness(reference_.picture, now.picture, move);
  if (turned_like < kSureTurn && shift.peak < kStale) {
    move = match_.search(reference_.picture, now.picture, told ? shifted.move : RigidMove{},
                         o_.most_turn_deg + kBeyond_deg);
    turned_like = match_.likeness(reference_.picture, now.picture, move);
  }
  const bool believed = turned_like >= kSureTurn && turned_like > like + kBetter &&
                        std::abs(move.turn_deg) <= o_.most_turn_deg + 2 * kBeyond_deg;
  if (!believed || std::abs(move.turn_deg) < o_.least_turn_deg) return shifted;
  return {move, std::max(shift.peak, turned_like)};
}

// Empty when it was not.
std::string Steadier::Body::moved_too_far() const {
  const double across = std::abs(at_.dx_px) / width_px_;
  const double down = std::abs(at_.dy_px) / height_px_;
  if (std::max(across, down) > o_.most_share) {
    return fmt::format(
        "the camera was moved: the picture lies {:.0f} px from where it was, {:.0f} % of its {}",
        std::hypot(at_.dx_px, at_.dy_px), 100 * std::max(across, down), across >= down ? "width" : "height");
  }
  if (o_.most_turn_deg > 0 && std::abs(at_.turn_deg) > o_.most_turn_deg)
    return fmt::format("the camera was turned by {:.1f}°", std::abs(at_.turn_deg));
  return {};
}

void Steadier::Body::match(Seen now, const Found& found, double at_s) {
  strangers_ = 0;
  at_ = joined(reference_at_, found.move);
  if (auto why = moved_too_far(); !why.empty()) {
    cut(plan_.frames.size(), at_s, std::move(why));
    begin(std::move(now), {});
  } else if (found.peak < kStale) {
    begin(std::move(now), at_);
  }
  say(found.peak);
}

// A hand before the lens goes away again; another view stays.
void Steadier::Body::miss(Seen now, double peak, double at_s) {
  const bool again =
      strangers_ > 0 && correlation_.compare(stranger_.spectrum, now.spectrum).peak >= o_.least_peak;
  strangers_ = again ? strangers_ + 1 : 1;
  if (!again) {
    stranger_ = std::move(now);
    stranger_frame_ = plan_.frames.size();
    stranger_at_s_ = at_s;
  }
  say(peak);
  if (strangers_ < kAnotherView) return;
  strangers_ = 0;
  if (PhaseCorrelation::compare_in_place(reference_.spectrum, stranger_.spectrum) < kSameView) {
    cut(stranger_frame_, stranger_at_s_, "another view: nothing in the picture lies where it was");
    for (std::size_t i = stranger_frame_; i < plan_.frames.size(); ++i)
      plan_.frames[i].dx_px = plan_.frames[i].dy_px = plan_.frames[i].turn_deg = 0;
  }
  begin(std::move(stranger_), at_);
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
  if (!(o.least_turn_deg >= 0 && o.least_turn_deg <= 1) || !(o.most_turn_deg >= 0 && o.most_turn_deg <= 10))
    return bad(
        fmt::format("turns from {}° to {}°: give 0 to 1, and 0 to 10", o.least_turn_deg, o.most_turn_deg));
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

void take_back(const PlaneView& from, double dx, double dy, double turn_deg, const PlaneView& to) {
  if (turn_deg == 0) {
    shift_plane(from, -dx, -dy, to);
    return;
  }
  // In 1/65536 of a sample: a row is walked along by adding.
  constexpr int kBits = 16;
  constexpr double kOne = 1 << kBits;
  const double turn = turn_deg * std::numbers::pi / 180;
  const auto c = static_cast<std::int64_t>(std::llround(std::cos(turn) * kOne));
  const auto s = static_cast<std::int64_t>(std::llround(std::sin(turn) * kOne));
  const double middle_x = 0.5 * (from.width - 1);
  const double middle_y = 0.5 * (from.height - 1);
  const std::int64_t most_x = std::int64_t{from.width - 1} << kBits;
  const std::int64_t most_y = std::int64_t{from.height - 1} << kBits;
  for (int y = 0; y < to.height; ++y) {
    const double v = y - middle_y;
    auto px = std::llround((middle_x - std::cos(turn) * middle_x - std::sin(turn) * v + dx) * kOne);
    auto py = std::llround((middle_y - std::sin(turn) * middle_x + std::cos(turn) * v + dy) * kOne);
    std::uint8_t* out = to.row(y);
    for (int x = 0; x < to.width; ++x, px += c, py += s) {
      const auto at_x = std::clamp<std::int64_t>(px, 0, most_x);
      const auto at_y = std::clamp<std::int64_t>(py, 0, most_y);
      const int left = static_cast<int>(at_x >> kBits);
      const int top = static_cast<int>(at_y >> kBits);
      const int right = std::min(left + 1, from.width - 1);
      const auto fx = static_cast<int>((at_x & 0xffff) >> 8);
      const auto fy = static_cast<int>((at_y & 0xffff) >> 8);
      const std::uint8_t* a = from.row(top);
      const std::uint8_t* b = from.row(std::min(top + 1, from.height - 1));
      const int above = a[left] * (256 - fx) + a[right] * fx;
      const int below = b[left] * (256 - fx) + b[right] * fx;
      out[x] = static_cast<std::uint8_t>((above * (256 - fy) + below * fy + 32768) >> 16);
    }
  }
}

}  // namespace rookery::vision
