// Which frames are recorded around events: all of the span, each once, in order, and nothing else.
#include "station/event_recording.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using camera::Record;

base::MonoTime at(std::chrono::milliseconds since) { return base::MonoTime{} + 1h + since; }

// Notes what the recorder would get: times in ms, -1 where a span was finished.
class Recorded {
 public:
  EventRecording::Sink sink() {
    return {[this](const camera::FramePtr& frame) {
              notes.push_back(static_cast<int>((frame->arrived_mono - at(0ms)) / 1ms));
            },
            [this] { notes.push_back(-1); }};
  }
  std::vector<int> notes;
};

void send(EventRecording& recording, std::chrono::milliseconds from, std::chrono::milliseconds to,
          std::chrono::milliseconds every = 100ms) {
  for (auto time = from; time <= to; time += every) {
    recording.take(std::make_shared<const camera::Frame>(std::vector<std::byte>(10), base::WallTime{},
                                                         at(time), 1, camera::PixelSize{}));
  }
}

TEST(EventRecording, AlwaysIsEveryFrameAndNeverIsNone) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  send(recording, 0ms, 100ms);
  recording.set(Record::always, 5s, 1000);
  send(recording, 200ms, 300ms);
  recording.want(at(0ms), at(1000ms));
  recording.set(Record::never, 5s, 1000);
  send(recording, 400ms, 500ms);
  EXPECT_EQ(recorded.notes, (std::vector{200, 300, -1}));
}

TEST(EventRecording, ASpanBeginsInThePastAndEndsInTheFuture) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  recording.set(Record::events, 1s, 10'000);
  send(recording, 0ms, 1000ms);
  EXPECT_TRUE(recorded.notes.empty());
  recording.want(at(700ms), at(1200ms));
  EXPECT_EQ(recorded.notes, (std::vector{700, 800, 900, 1000}));
  send(recording, 1100ms, 1400ms);
  EXPECT_EQ(recorded.notes, (std::vector{700, 800, 900, 1000, 1100, 1200, -1}));
}

TEST(EventRecording, ASpanThatGrowsIsOneAndNothingIsRecordedTwice) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  recording.set(Record::events, 1s, 10'000);
  send(recording, 0ms, 300ms);
  recording.want(at(200ms), at(500ms));
  recording.want(at(200ms), at(700ms));
  send(recording, 400ms, 900ms);
  // The next event's pre-roll reaches back into what was recorded already.
  recording.want(at(500ms), at(900ms));
  EXPECT_EQ(recorded.notes, (std::vector{200, 300, 400, 500, 600, 700, -1, 800, 900}));
}

TEST(EventRecording, WhatCouldNotBeHeldIsNotMadeUp) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  recording.set(Record::events, 1s, 30);  // three frames
  send(recording, 0ms, 1000ms);
  EXPECT_EQ(recording.state().frames, 3u);
  EXPECT_EQ(recording.state().bytes, 30u);
  EXPECT_EQ(recording.state().covers, 200ms);
  recording.want(at(0ms), at(2000ms));
  EXPECT_EQ(recorded.notes, (std::vector{800, 900, 1000}));
}

TEST(EventRecording, ACameraThatGoesEndsItsSpanOnce) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  recording.set(Record::events, 1s, 1000);
  send(recording, 0ms, 100ms);
  recording.want(at(0ms), at(5000ms));
  recording.finish();
  recording.finish();
  EXPECT_EQ(recorded.notes, (std::vector{0, 100, -1}));
  EXPECT_EQ(recording.state().frames, 0u);
}

TEST(EventRecording, RecordingAlwaysGoesOnFromAnEventWithoutLosingAFrame) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  recording.set(Record::events, 1s, 1000);
  send(recording, 0ms, 100ms);
  recording.want(at(0ms), at(5000ms));
  recording.set(Record::always, 1s, 1000);
  send(recording, 200ms, 300ms);
  EXPECT_EQ(recorded.notes, (std::vector{0, 100, -1, 200, 300}));
}

// Law: with room enough, the frames recorded are exactly those in the union of the spans, each once and in
// order; but nothing is put before what is recorded already.
RC_GTEST_PROP(EventRecordingLaw, TheUnionOfTheSpansOnce, ()) {
  Recorded recorded;
  EventRecording recording(recorded.sink());
  recording.set(Record::events, 1s, 1'000'000);
  std::set<int> wanted;
  for (int now = 0; now < 10'000; now += 100) {
    send(recording, std::chrono::milliseconds(now), std::chrono::milliseconds(now));
    if (*rc::gen::inRange(0, 15) != 0) continue;
    const int asked = now - *rc::gen::inRange(0, 2000);
    const auto after_now = wanted.upper_bound(now);
    const int from = after_now == wanted.begin() ? asked : std::max(asked, *std::prev(after_now));
    const int until = now + *rc::gen::inRange(0, 1500);
    recording.want(at(std::chrono::milliseconds(asked)), at(std::chrono::milliseconds(until)));
    for (int time = 0; time < 10'000; time += 100) {
      if (time >= from && time <= until) wanted.insert(time);
    }
  }
  std::vector<int> frames;
  for (const int note : recorded.notes) {
    if (note >= 0) frames.push_back(note);
  }
  RC_ASSERT(frames == std::vector<int>(wanted.begin(), wanted.end()));
}

}  // namespace
}  // namespace rookery::station
