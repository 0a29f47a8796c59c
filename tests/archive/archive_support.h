// What the tests of recording, playback and upkeep share: a home with a catalog, a clock to drive, frames.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include "archive/byte_source.h"
#include "archive/recorder.h"
#include "archive/segment_index.h"
#include "archive/segment_path.h"
#include "archive/segment_store.h"
#include "tests/archive/matroska_support.h"
#include "tests/support/failing_disk.h"
#include "tests/support/hand_clock.h"
#include "tests/support/picture.h"

namespace rookery::archive::test {

using std::chrono::milliseconds;
using std::chrono::seconds;

inline base::CameraName name(std::string_view text) { return base::CameraName::parse(text).value(); }

// So many people, 1 and on. Nobody can sign in as one of them.
inline void add_people(Catalog& catalog, int count) {
  EXPECT_TRUE(catalog.write([count](SQLite::Database& db) -> base::Result<void> {
    for (int i = 1; i <= count; ++i) {
      db.exec(
          fmt::format("INSERT INTO person(id, name, folded, role, password, all_cameras)"
                      " VALUES({0}, 'Person {0}', 'person {0}', 'viewer', '', 1)",
                      i));
    }
    return base::ok();
  }));
}

// A home with everything in it, and frames that are made as the clock says.
class Hall : public ::testing::Test {
 protected:
  Hall() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {}

  RecorderOptions options() {
    RecorderOptions made;
    made.disk = &disk;
    made.retry_every = milliseconds{5};
    made.keep_free_bytes = 0;
    return made;
  }

  // The next frame of any camera, now. Remembered in `sent`.
  camera::FramePtr frame(int width_px = 64, int height_px = 48) {
    auto bytes = rookery::test::make_picture(width_px, height_px, static_cast<unsigned>(sent.size()));
    sent.push_back(bytes);
    sent_at.push_back(std::chrono::floor<milliseconds>(clock.wall()));
    return std::make_shared<const camera::Frame>(std::move(bytes), clock.wall(), clock.mono(), sent.size(),
                                                 camera::PixelSize{width_px, height_px});
  }

  // `count` frames, `every` apart; the clock stands one interval after the last.
  void record(Recorder& recorder, const base::CameraName& camera, int count, base::Microseconds every) {
    for (int i = 0; i < count; ++i) {
      recorder.record(camera, frame());
      clock.pass(every);
    }
  }

  std::vector<Segment> segments(const base::CameraName& camera) {
    EXPECT_TRUE(catalog->flush());
    return store.between(camera, base::WallTime{}, base::WallTime{std::chrono::hours{24 * 365 * 100}})
        .value();
  }

  void keep_all(const base::CameraName& camera) {
    const base::WallTime late{std::chrono::hours{24 * 365 * 100}};
    EXPECT_TRUE(store.set_kept(camera, base::WallTime{}, late, true).has_value());
  }

  std::filesystem::path file_of(const Segment& segment) const {
    return archive_folder(folder.path()) / segment.path;
  }

  // Every frame that the camera's segments hold, in the catalog's order.
  std::vector<Bytes> recorded(const base::CameraName& camera) {
    std::vector<Bytes> frames;
    for (const auto& segment : segments(camera)) {
      auto source = FileSource::open(file_of(segment));
      EXPECT_TRUE(source.has_value()) << segment.path;
      auto index = SegmentIndex::read(*source, segment.path);
      EXPECT_TRUE(index.has_value()) << index.error().text();
      for (const auto& one : index->frames()) frames.push_back(read_frame(*source, one).value());
    }
    return frames;
  }

  rookery::test::TempFolder folder;
  rookery::test::HandClock clock;
  rookery::test::FailingDisk disk;
  std::unique_ptr<Catalog> catalog;
  SegmentStore store;
  std::vector<Bytes> sent;
  std::vector<base::WallTime> sent_at;
  const base::CameraName anvil = name("anvil");
  const base::CameraName bobbin = name("bobbin");
};

inline void expect_balanced(const RecorderCounters& counters) {
  EXPECT_EQ(counters.taken, counters.written + counters.lost + counters.queued);
}

}  // namespace rookery::archive::test
