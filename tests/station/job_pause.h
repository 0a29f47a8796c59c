// A job whose camera is covered, and the wish to pause that comes of it.
#pragma once

#include "notices/notice_store.h"
#include "tests/station/running_station.h"

namespace rookery::station {

class JobPause : public RunningStation {
 protected:
  void adjust(StationOptions& options) override {
    options.notices.look_every = 2ms;
    options.notices.seed = 1;
  }
  // Begins a job of whose machine this receiver is asked to pause when the camera is covered.
  void begin_with(const notices::Receiver& receiver) {
    start(camera::Record::never);
    receiver_ = notices::NoticeStore(station_->catalog()).add(receiver).value().id;
    archive::JobSettings settings;
    settings.stop = {receiver_, {vision::JobSign::covered}, 10s};
    ASSERT_TRUE(station_->job_store().set_settings(anvil_, settings));
    job_ = begin_job();
  }
  // A dark block works before a chequered wall.
  static std::vector<std::byte> working(unsigned number) {
    const int left = 120 + static_cast<int>(number * 37 % 100);
    const int top = 80 + static_cast<int>(number * 23 % 60);
    std::vector<std::uint8_t> rgb;
    for (int y = 0; y < 240; ++y) {
      for (int x = 0; x < 320; ++x) {
        const bool block = x >= left && x < left + 32 && y >= top && y < top + 32;
        const int grey = block ? 30 : 90 + 40 * ((x / 24 + y / 32) % 2);
        rgb.insert(rgb.end(), 3, static_cast<std::uint8_t>(grey));
      }
    }
    return test::encode_picture(rgb, 320, 240, 90);
  }
  void work(unsigned stills) {
    for (unsigned i = 0; i < stills; ++i) job_still(working(i));
  }
  std::vector<archive::JobStep> steps() {
    EXPECT_TRUE(station_->catalog().flush());
    return station_->job_store().steps(job_).value();
  }
  bool has_step(std::string_view what) {
    return std::ranges::any_of(steps(), [&](const archive::JobStep& step) { return step.what == what; });
  }
  // Grey all over, until a pause is asked for.
  void cover() {
    work(60);
    const auto grey = test::make_flat_picture(320, 240, 60);
    for (int i = 0; i < 30 && !has_step("pause-asked"); ++i) job_still(grey);
    ASSERT_TRUE(has_step("pause-asked"));
  }
  std::vector<notices::Queued> log() {
    return notices::NoticeQueue(station_->catalog()).log(receiver_, std::nullopt, std::nullopt, 10).value();
  }

  std::int64_t receiver_ = 0;
  std::int64_t job_ = 0;
};

}  // namespace rookery::station
