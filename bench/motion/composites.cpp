#include "bench/motion/composites.h"

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "bench/motion/film.h"
#include "sim/picture_faults.h"

namespace rookery::bench {
namespace {

constexpr double kWave_s = 120;  // of ramp and gamma
constexpr double kLamp_s = 50;
constexpr float kNoise = 1.5F;  // grey levels
constexpr double kWorthFinding = 0.01;
constexpr base::Microseconds kBefore{1'000'000};
constexpr base::Microseconds kAfter{2'000'000};
constexpr int kCell_px = 8;

// The standard's distributions differ between libraries; these do not.
int pick(std::mt19937& random, int from, int to) {
  return from + static_cast<int>(random() % static_cast<unsigned>(to - from + 1));
}

bool overlap(const vision::CellBox& a, const vision::CellBox& b) {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

bool at_the_same_time(const Pasted& pasted, const vision::MotionEvent& event) {
  return event.start <= pasted.end + kAfter && event.end >= pasted.start - kBefore;
}

}  // namespace

std::string_view name_of(Light light) {
  constexpr std::array kNames{"steady", "ramp", "gamma", "lamp", "banding", "together"};
  return kNames[static_cast<std::size_t>(light)];
}

Composite::Composite(const Setting& setting, const std::vector<Walk>& walks)
    : setting_(setting), walks_(walks), random_(setting.seed), picture_(setting.background) {
  pause_ = pick(random_, 15, 30) * kComposite_hz;
}

void Composite::begin_walk() {
  walk_ = &walks_[random_() % walks_.size()];
  step_ = 0;
  mirrored_ = pick(random_, 0, 1) == 1;
  const sim::Region path = walk_->path();
  const auto [width, height] = setting_.background.size;
  const float fits = std::min(static_cast<float>(width - 16) / static_cast<float>(path.width),
                              static_cast<float>(height - 16) / static_cast<float>(path.height));
  scale_ = std::min(static_cast<float>(pick(random_, 80, 150)) / 100, fits);
  const auto room = [&](int whole, int part) {
    return static_cast<float>(
        pick(random_, 0, std::max(0, whole - static_cast<int>(scale_ * static_cast<float>(part)) - 1)));
  };
  origin_.x = room(width, path.width);
  origin_.y = room(height, path.height);
  const int left = static_cast<int>(origin_.x) / kCell_px;
  const int top = static_cast<int>(origin_.y) / kCell_px;
  now_ = {.start = at(),
          .end = at(),
          .box = {left, top, static_cast<int>(scale_ * static_cast<float>(path.width)) / kCell_px + 1,
                  static_cast<int>(scale_ * static_cast<float>(path.height)) / kCell_px + 1},
          .share = 0};
}

const sim::Picture& Composite::next() & {
  ++count_;
  picture_ = setting_.background;
  if (walk_ == nullptr && pause_-- == 0) begin_walk();
  if (walk_ != nullptr) {
    const sim::Sprite& sprite = walk_->sprites[step_];
    const sim::Region path = walk_->path();
    float x = walk_->at[step_].x - static_cast<float>(path.x);
    if (mirrored_) x = static_cast<float>(path.width - sprite.width) - x;
    const float y = walk_->at[step_].y - static_cast<float>(path.y);
    sim::Canvas(picture_).sprite_scaled(sprite, origin_.x + scale_ * x, origin_.y + scale_ * y, scale_,
                                        setting_.opacity, 1, mirrored_);
    const double area = static_cast<double>(sprite.width * sprite.height) * scale_ * scale_;
    now_.share =
        std::max(now_.share, area / (setting_.background.size.width * setting_.background.size.height));
    now_.end = at();
    if (++step_ == walk_->sprites.size()) {
      pasted_.push_back(now_);
      walk_ = nullptr;
      pause_ = pick(random_, 12, 30) * kComposite_hz;
    }
  }
  shine();
  sim::add_noise(picture_, kNoise, static_cast<std::uint32_t>(count_));
  return picture_;
}

void Composite::shine() {
  const double t = std::chrono::duration<double>(at()).count();
  const auto has = [&](Light what) { return setting_.light == what || setting_.light == Light::together; };
  const double wave = std::sin(2 * std::numbers::pi * t / kWave_s);
  const double gain = has(Light::ramp) ? 1 + 0.25 * wave : 1;
  const double offset = has(Light::ramp) ? 10 * wave : 0;
  const double gamma = has(Light::gamma) ? std::pow(4.0 / 3, wave) : 1;
  std::array<float, 256> tone{};
  for (std::size_t i = 0; i < tone.size(); ++i)
    tone[i] = static_cast<float>(gain * 255 * std::pow(static_cast<double>(i) / 255, gamma) + offset);
  const bool lit = has(Light::lamp) && static_cast<int>(t / kLamp_s) % 2 == 1;
  const auto [width, height] = picture_.size;
  std::uint8_t* luma = picture_.y.data();
  for (int y = 0; y < height; ++y) {
    const double phase = 6.0 * y / height - 0.7 * t;
    const auto row =
        static_cast<float>(has(Light::banding) ? 1 + 0.04 * std::sin(2 * std::numbers::pi * phase) : 1);
    for (int x = 0; x < width; ++x, ++luma) {
      const float lamp = lit ? 1.5F - 0.3F * static_cast<float>(x) / static_cast<float>(width) : 1;
      *luma = static_cast<std::uint8_t>(std::clamp(row * lamp * tone[*luma] + 0.5F, 0.0F, 255.0F));
    }
  }
}

void CompositeScore::add(const CompositeScore& other) {
  truths += other.truths;
  found += other.found;
  small_truths += other.small_truths;
  small_found += other.small_found;
  false_events += other.false_events;
  lamps += other.lamps;
  views += other.views;
  hours += other.hours;
  start_errors_s.insert(start_errors_s.end(), other.start_errors_s.begin(), other.start_errors_s.end());
  missed.insert(missed.end(), other.missed.begin(), other.missed.end());
  wrong.insert(wrong.end(), other.wrong.begin(), other.wrong.end());
}

int composite_quality(const Setting& setting) {
  sim::Picture picture = setting.background;
  sim::add_noise(picture, kNoise, 0);
  return quality_for(picture, kComposite_bytes);
}

CompositeScore score_composite(const Setting& setting, const std::vector<Walk>& walks, int pictures,
                               vision::Sensitivity sensitivity) {
  using Cause = vision::MotionEvent::Cause;
  Composite composite(setting, walks);
  const int quality = composite_quality(setting);
  sim::Encoder encoder;
  vision::MotionWatch watch(sensitivity);
  jpeg::LumaGrid grid;
  std::vector<vision::MotionEvent> events;
  // Whoever walks at the end is let through, and the gap after which an event is over.
  int n = 0;
  for (int after = 0; n < pictures || composite.somebody() || after < 2 * kComposite_hz; ++n) {
    const auto jpeg = encoder.encode(composite.next(), quality);
    if (!jpeg::compute_luma_grid(std::as_bytes(std::span(*jpeg)), grid))
      throw std::runtime_error("a composite's JPEG gives no luma grid");
    if (auto event = watch.add(grid, composite.at())) events.push_back(*event);
    if (n >= pictures && !composite.somebody()) ++after;
  }
  if (auto event = watch.finish()) events.push_back(*event);

  CompositeScore score;
  score.hours = static_cast<double>(n) / kComposite_hz / 3600;
  for (const Pasted& pasted : composite.pasted()) {
    const auto hit = std::ranges::find_if(events, [&](const vision::MotionEvent& event) {
      return event.cause == Cause::motion && at_the_same_time(pasted, event) &&
             overlap(pasted.box, event.box);
    });
    const bool found = hit != events.end();
    if (found)
      score.start_errors_s.push_back(std::chrono::duration<double>(hit->start - pasted.start).count());
    const bool small = pasted.share < kWorthFinding;
    ++(small ? score.small_truths : score.truths);
    if (found) ++(small ? score.small_found : score.found);
    if (!found && !small) score.missed.push_back(pasted);
  }
  for (const vision::MotionEvent& event : events) {
    score.lamps += event.cause == Cause::lighting ? 1 : 0;
    score.views += event.cause == Cause::view ? 1 : 0;
    if (event.cause != Cause::motion) continue;
    const bool right = std::ranges::any_of(composite.pasted(), [&](const Pasted& pasted) {
      return at_the_same_time(pasted, event) && overlap(pasted.box, event.box);
    });
    if (right) continue;
    ++score.false_events;
    score.wrong.push_back(event);
  }
  return score;
}

}  // namespace rookery::bench
