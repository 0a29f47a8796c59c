// What a MotionDetector has learned, as bytes. The format is in docs/motion.md.
#include <algorithm>
#include <cmath>

#include "vision/motion_detector.h"
#include "vision/motion_numbers.h"

namespace rookery::vision {
namespace {

using base::Error;
using base::ErrorCode;

constexpr std::uint32_t kMagic = 0x444D4B52;  // "RKMD", the least byte first
constexpr std::uint16_t kVersion = 2;         // 1 knew nothing of machines
constexpr std::size_t kHead = 4 + 2 + 2 + 2 + 3 * 4;
constexpr std::size_t kOldCell = 2 + 2 + 1;
constexpr std::size_t kCell = kOldCell + 1 + 1;
constexpr int kMostSide = 8192;  // cells, as of the largest picture that is decoded

constexpr float kBackgroundUnit = 128;  // in a grey level
constexpr float kNoiseUnit = 512;
constexpr float kRestlessUnit = 255;
constexpr float kMovedUnit = 255 / motion::kMostMoved_s;

class Writer {
 public:
  explicit Writer(std::size_t bytes) { bytes_.reserve(bytes); }
  void put(std::uint64_t value, std::size_t size) {
    for (std::size_t i = 0; i < size; ++i, value >>= 8) bytes_.push_back(static_cast<std::byte>(value));
  }
  void put_scaled(double value, float unit, std::size_t size) {
    const double most = std::ldexp(1.0, static_cast<int>(8 * size)) - 1;
    put(static_cast<std::uint64_t>(std::clamp(std::round(value * static_cast<double>(unit)), 0.0, most)),
        size);
  }
  std::vector<std::byte> take() { return std::move(bytes_); }

 private:
  std::vector<std::byte> bytes_;
};

// Whoever reads has looked at the length before.
class Reader {
 public:
  explicit Reader(std::span<const std::byte> bytes) : bytes_(bytes) {}
  std::uint64_t get(std::size_t size) {
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < size; ++i) value |= std::to_integer<std::uint64_t>(bytes_[i]) << (8 * i);
    bytes_ = bytes_.subspan(size);
    return value;
  }
  float get_scaled(float unit, std::size_t size) { return static_cast<float>(get(size)) / unit; }

 private:
  std::span<const std::byte> bytes_;
};

Error malformed(std::string detail) {
  return Error(ErrorCode::malformed, "what was learned of motion", std::move(detail),
               "It is learned anew within a minute.");
}

}  // namespace

std::vector<std::byte> MotionDetector::save() const {
  Writer out(kHead + background_.size() * kCell);
  out.put(kMagic, 4);
  out.put(kVersion, 2);
  out.put(static_cast<std::uint64_t>(width_), 2);
  out.put(static_cast<std::uint64_t>(height_), 2);
  out.put_scaled(learned_s_, 1000, 4);
  out.put_scaled(quantum_, 1000, 4);
  out.put_scaled(usual_cells_, 1000, 4);
  for (std::size_t i = 0; i < background_.size(); ++i) {
    out.put_scaled(static_cast<double>(background_[i]), kBackgroundUnit, 2);
    out.put_scaled(static_cast<double>(noise_[i]), kNoiseUnit, 2);
    out.put_scaled(static_cast<double>(restless_[i]), kRestlessUnit, 1);
    out.put_scaled(static_cast<double>(machine_s_[i]), kMovedUnit, 1);
    out.put_scaled(static_cast<double>(passing_s_[i]), kMovedUnit, 1);
  }
  return out.take();
}

base::Result<void> MotionDetector::restore(std::span<const std::byte> saved) {
  if (saved.size() < kHead) return malformed(fmt::format("{} bytes", saved.size()));
  Reader in(saved);
  if (in.get(4) != kMagic) return malformed("it does not begin as it should");
  const auto version = in.get(2);
  if (version < 1 || version > kVersion) {
    return Error(ErrorCode::newer_version, "what was learned of motion", fmt::format("version {}", version),
                 "It is learned anew within a minute.");
  }
  const auto width = static_cast<int>(in.get(2));
  const auto height = static_cast<int>(in.get(2));
  const std::size_t cells = static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  if (width > kMostSide || height > kMostSide ||
      saved.size() != kHead + cells * (version == 1 ? kOldCell : kCell))
    return malformed(fmt::format("{} bytes for {}×{} cells", saved.size(), width, height));
  begin(width, height);
  learned_s_ = static_cast<double>(in.get_scaled(1000, 4));
  quantum_ = std::clamp(static_cast<double>(in.get_scaled(1000, 4)), 1.0, 16.0);
  usual_cells_ = std::min(static_cast<double>(in.get_scaled(1000, 4)), static_cast<double>(cells));
  background_.resize(cells);
  for (std::size_t i = 0; i < cells; ++i) {
    background_[i] = std::min(in.get_scaled(kBackgroundUnit, 2), 255.0F);
    noise_[i] = std::clamp(in.get_scaled(kNoiseUnit, 2), motion::kLeastNoise, motion::kMostNoise);
    restless_[i] = in.get_scaled(kRestlessUnit, 1);
    if (version == 1) continue;
    machine_s_[i] = in.get_scaled(kMovedUnit, 1);
    passing_s_[i] = in.get_scaled(kMovedUnit, 1);
  }
  recent_ = background_;
  before_ = flat_ = {.width = width, .height = height, .cells = std::vector<std::uint8_t>(cells)};
  spread_restless();
  return base::ok();
}

}  // namespace rookery::vision
