// Playback: every recorded frame, in both directions, across segments, gaps and clocks that were set.
#include "archive/playback.h"

#include "tests/archive/archive_support.h"

namespace rookery::archive {
namespace {

using std::chrono::minutes;
using test::Bytes;
using test::kNoon;
using test::milliseconds;
using test::seconds;

class PlaybackTest : public test::Hall {
 protected:
  RecorderOptions short_segments() {
    auto chosen = options();
    chosen.segment_length = seconds{10};
    return chosen;
  }
  // From wherever `playback` stands to the end.
  std::vector<Bytes> rest(Playback& playback) {
    std::vector<Bytes> frames;
    for (;;) {
      auto frame = playback.next();
      EXPECT_TRUE(frame.has_value()) << frame.error().text();
      if (!frame || !*frame) return frames;
      frames.push_back(std::move((*frame)->bytes));
    }
  }
  // Index in `sent` of what seek finds.
  std::size_t sought(Playback& playback, base::WallTime at) {
    auto frame = playback.seek(at).value();
    EXPECT_TRUE(frame.has_value());
    const auto found = std::find(sent.begin(), sent.end(), frame->bytes);
    EXPECT_NE(found, sent.end());
    const auto index = static_cast<std::size_t>(found - sent.begin());
    EXPECT_EQ(frame->at, sent_at[index]);
    return index;
  }
};

TEST_F(PlaybackTest, NothingRecordedIsNull) {
  Playback playback{*catalog, anvil};
  EXPECT_FALSE(playback.seek(kNoon).value().has_value());
  EXPECT_FALSE(playback.next().value().has_value());
  EXPECT_FALSE(playback.previous().value().has_value());
  EXPECT_FALSE(playback.peek_next().value().has_value());
}

TEST_F(PlaybackTest, SeekFindsTheGreatestTimeNotAfterElseTheFirst) {
  {
    Recorder recorder{*catalog, short_segments(), clock};
    record(recorder, anvil, 200, milliseconds{250});
    clock.pass(minutes{10});
    record(recorder, anvil, 50, milliseconds{250});
  }
  Playback playback{*catalog, anvil};
  EXPECT_EQ(sought(playback, kNoon - minutes{1}), 0u);
  EXPECT_EQ(sought(playback, kNoon), 0u);
  EXPECT_EQ(sought(playback, kNoon + milliseconds{249}), 0u);
  EXPECT_EQ(sought(playback, kNoon + milliseconds{250}), 1u);
  EXPECT_EQ(sought(playback, kNoon + milliseconds{9999}), 39u);  // the last of its segment
  EXPECT_EQ(sought(playback, kNoon + seconds{10}), 40u);
  EXPECT_EQ(sought(playback, kNoon + minutes{5}), 199u);  // in the gap
  EXPECT_EQ(sought(playback, kNoon + minutes{30}), 249u);
  // Every moment against a plain search.
  for (int i = 0; i < 300; ++i) {
    const auto at = kNoon + milliseconds{i * 171};
    const auto wanted = std::upper_bound(sent_at.begin(), sent_at.end(), at) - sent_at.begin() - 1;
    ASSERT_EQ(sought(playback, at), static_cast<std::size_t>(wanted)) << i;
  }
}

TEST_F(PlaybackTest, ForwardAndBackwardPassEveryFrameAcrossSegmentsAndGaps) {
  {
    Recorder recorder{*catalog, short_segments(), clock};
    record(recorder, anvil, 100, milliseconds{300});
    clock.pass(minutes{10});
    record(recorder, anvil, 100, milliseconds{300});
  }
  Playback playback{*catalog, anvil};
  ASSERT_TRUE(playback.seek(kNoon).value().has_value());
  for (std::size_t i = 1; i < sent.size(); ++i) {
    ASSERT_EQ(playback.peek_next().value(), sent_at[i]);
    const auto frame = playback.next().value();
    ASSERT_TRUE(frame.has_value());
    ASSERT_EQ(frame->bytes, sent[i]);
    ASSERT_EQ(frame->at, sent_at[i]);
  }
  EXPECT_FALSE(playback.peek_next().value().has_value());
  EXPECT_FALSE(playback.next().value().has_value());
  for (std::size_t i = sent.size() - 1; i-- > 0;) {
    ASSERT_EQ(playback.peek_previous().value(), sent_at[i]);
    const auto frame = playback.previous().value();
    ASSERT_TRUE(frame.has_value());
    ASSERT_EQ(frame->bytes, sent[i]);
  }
  EXPECT_FALSE(playback.previous().value().has_value());
  EXPECT_EQ(playback.next().value()->bytes, sent[1]);  // the end did not lose the place
}

TEST_F(PlaybackTest, FollowsARecordingThatStillGrows) {
  Recorder recorder{*catalog, short_segments(), clock};
  record(recorder, anvil, 3, milliseconds{100});
  recorder.flush();
  Playback playback{*catalog, anvil};
  ASSERT_EQ(sought(playback, kNoon), 0u);
  EXPECT_EQ(rest(playback).size(), 2u);
  record(recorder, anvil, 2, milliseconds{100});
  recorder.flush();
  EXPECT_EQ(rest(playback), (std::vector<Bytes>{sent[3], sent[4]}));
  clock.pass(seconds{10});
  record(recorder, anvil, 2, milliseconds{100});
  recorder.flush();
  EXPECT_EQ(rest(playback), (std::vector<Bytes>{sent[5], sent[6]}));
  // A moment that the catalog's entry does not reach yet.
  recorder.record(anvil, frame());
  recorder.flush();
  EXPECT_EQ(sought(playback, clock.wall()), 7u);
}

TEST_F(PlaybackTest, ClockSetBackTrapsNobody) {
  {
    Recorder recorder{*catalog, short_segments(), clock};
    record(recorder, anvil, 60, milliseconds{500});
    clock.set_wall(kNoon);  // the same half minute again, starting at the very same millisecond
    record(recorder, anvil, 60, milliseconds{500});
    clock.set_wall(kNoon + seconds{5});
    record(recorder, anvil, 60, milliseconds{500});
  }
  Playback playback{*catalog, anvil};
  ASSERT_TRUE(playback.seek(kNoon - seconds{1}).value().has_value());
  std::size_t forward = 1;
  for (auto frame = playback.next().value(); frame && forward < 1000; frame = playback.next().value())
    ++forward;
  EXPECT_EQ(forward, sent.size());
  std::size_t backward = 1;
  for (auto frame = playback.previous().value(); frame && backward < 1000;
       frame = playback.previous().value())
    ++backward;
  EXPECT_EQ(backward, sent.size());
  const auto frame = playback.seek(kNoon + seconds{7}).value();
  ASSERT_TRUE(frame.has_value());
  EXPECT_EQ(frame->at, kNoon + seconds{7});
}

TEST_F(PlaybackTest, PassesOverAFileThatIsGoneOrDamaged) {
  {
    Recorder recorder{*catalog, short_segments(), clock};
    record(recorder, anvil, 160, milliseconds{250});
  }
  const auto all = segments(anvil);
  ASSERT_EQ(all.size(), 4u);
  std::filesystem::remove(file_of(all[1]));
  test::write_bytes(file_of(all[2]), std::as_bytes(std::span{"this is no Matroska file"}));
  Playback playback{*catalog, anvil};
  ASSERT_EQ(sought(playback, kNoon), 0u);
  EXPECT_EQ(rest(playback).size(), 79u);
  EXPECT_EQ(sought(playback, kNoon + seconds{25}), 39u);
  EXPECT_EQ(playback.next().value()->at, kNoon + seconds{30});
}

TEST_F(PlaybackTest, SegmentRemovedWhilePlayedIsPlayedToItsEnd) {
  {
    Recorder recorder{*catalog, short_segments(), clock};
    record(recorder, anvil, 80, milliseconds{250});
  }
  const auto all = segments(anvil);
  Playback playback{*catalog, anvil};
  ASSERT_EQ(sought(playback, kNoon), 0u);
  std::filesystem::remove(file_of(all[0]));
  ASSERT_TRUE(store.remove(all[0].id).has_value());
  EXPECT_EQ(rest(playback).size(), 79u);
  EXPECT_EQ(sought(playback, kNoon), 40u);
}

}  // namespace
}  // namespace rookery::archive
