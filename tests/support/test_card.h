// What a make-believe board sees in tests of picture measures: a card with a slanted edge, flat parts and
// light from above, with the faults of the picture that are on. Its noise and blur are known.
#pragma once

#include <cmath>
#include <memory>

#include "sim/encoder.h"
#include "sim/frame_source.h"
#include "sim/picture_faults.h"

namespace rookery::test {

class TestCard final : public sim::FrameSource {
 public:
  static constexpr sim::Size kSize{320, 240};
  static constexpr int kQuality = 94;    // coarser tables would hide the noise
  static constexpr float kNoise = 2.5F;  // grey levels

  sim::Bytes next(const sim::FrameRequest& request) override {
    sim::Picture picture(kSize);
    std::fill(picture.u.begin(), picture.u.end(), std::uint8_t{128});
    std::fill(picture.v.begin(), picture.v.end(), std::uint8_t{128});
    for (int y = 0; y < kSize.height; ++y) {
      for (int x = 0; x < kSize.width; ++x) {
        // 5° off the columns, a blur of 0.8 px; brighter above.
        const double across = (x - 160) * 0.9962 - (y - 120) * 0.0872;
        const double level = 70 + 110 * 0.5 * std::erfc(-across / (0.8 * 1.41421)) + 0.05 * (240 - y);
        picture.y[static_cast<std::size_t>(y * kSize.width + x)] = static_cast<std::uint8_t>(level + 0.5);
      }
    }
    if (faults_apply_) {
      if (request.boot > 1) sim::apply_settling(picture, request.since_boot);
      const auto t =
          std::chrono::duration_cast<sim::SceneTime>(request.wall.time_since_epoch() % std::chrono::hours(1));
      sim::apply_optics(picture, request.faults, t);
      const auto noise = static_cast<float>(request.faults.strength(sim::Fault::hot, kNoise));
      sim::add_noise(picture, noise, ++salt_);
    }
    return encoder_.encode(picture, kQuality);
  }

  // A card that is the same to the last byte each time.
  static std::shared_ptr<TestCard> frozen() {
    auto card = std::make_shared<TestCard>();
    card->faults_apply_ = false;
    return card;
  }

 private:
  sim::Encoder encoder_;
  std::uint32_t salt_ = 0;
  bool faults_apply_ = true;
};

}  // namespace rookery::test
