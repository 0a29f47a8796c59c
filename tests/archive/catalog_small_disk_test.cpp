// The catalog on a disk that is full: what is said, what waits, what is counted as lost.
#include "tests/archive/catalog_support.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/strip_store.h"
#include "tests/support/small_disk.h"

namespace rookery::archive {
namespace {

using base::ErrorCode;

TEST(CatalogOnASmallDisk, NoRoomAtTheStartIsSaid) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk{1 << 20};
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  for (const std::size_t spare : {0u, 4096u, 8192u, 16384u, 40'000u}) {
    disk.fill(spare);
    const base::Error error = refusal(disk.path());
    EXPECT_EQ(error.code, ErrorCode::disk_full) << spare << ": " << error.text();
    disk.make_room();
    EXPECT_EQ(refusal(disk.path()), base::Error()) << spare;
    std::filesystem::remove(disk.path() / "catalog.db");
  }
}

TEST(CatalogOnASmallDisk, AWriteThatFindsNoRoomFailsWholeAndLaterOnesWork) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk{1 << 20};
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  const auto catalog = Catalog::open(disk.path()).value();
  SegmentStore store(*catalog);
  int written = 0;
  disk.fill(100'000);
  base::Result<std::int64_t> last = std::int64_t{0};
  while (last && written < 5000) {
    last = store.add(numbered(written));
    if (last) ++written;
  }
  ASSERT_FALSE(last);
  EXPECT_EQ(last.error().code, ErrorCode::disk_full) << last.error().text();
  EXPECT_EQ(store.count().value(), static_cast<std::uint64_t>(written));
  disk.make_room();
  EXPECT_TRUE(store.add(numbered(written)));
  EXPECT_EQ(store.count().value(), static_cast<std::uint64_t>(written) + 1);
  EXPECT_TRUE(catalog->check());
}

TEST(CatalogOnASmallDisk, QueuedWorkWaitsForRoomAndTheNewestOfAKeyIsWritten) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk{1 << 20};
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  const auto catalog = Catalog::open(disk.path()).value();
  SegmentStore store(*catalog);
  Segment segment = numbered(1);
  segment.id = store.add(segment).value();
  disk.fill();
  for (int i = 0; i < 40; ++i) {  // until the log's own room is used up, too
    for (int step = 0; step < 50; ++step) {
      StripStore(*catalog).put_later(kAnvil, base::WallTime{} + std::chrono::hours(50 * i + step),
                                     {static_cast<std::uint8_t>(step), Health::live});
    }
    segment.frames = static_cast<std::uint64_t>(i);
    store.note_later(segment);
    if (!catalog->flush()) break;
  }
  ASSERT_FALSE(catalog->flush());
  for (int i = 0; i < 20; ++i) {
    segment.frames = 1000u + static_cast<unsigned>(i);
    store.note_later(segment);
  }
  EXPECT_FALSE(catalog->flush());
  const auto stuck = catalog->late_counters();
  EXPECT_GT(stuck.waiting, 0u);
  EXPECT_EQ(stuck.given_up, 0u);
  disk.make_room();
  EXPECT_TRUE(catalog->flush());
  EXPECT_EQ(store.find(segment.path).value()->frames, 1019u);
  EXPECT_EQ(catalog->late_counters().waiting, 0u);
  EXPECT_EQ(catalog->late_counters().given_up, 0u);
}

TEST(CatalogOnASmallDisk, MoreThanTheQueueHoldsIsCountedNotForgotten) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk{1 << 20};
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  const auto catalog = Catalog::open(disk.path()).value();
  disk.fill();
  constexpr std::uint64_t kMany = 100'500;
  for (std::uint64_t i = 0; i < kMany; ++i) {
    catalog->write_later(
        [](SQLite::Database& db) { db.exec("INSERT INTO recorded(camera) VALUES(hex(randomblob(500)))"); });
  }
  EXPECT_FALSE(catalog->flush());
  const auto counters = catalog->late_counters();
  EXPECT_GT(counters.given_up, 0u);
  EXPECT_EQ(counters.committed + counters.given_up + counters.waiting, kMany);
}

}  // namespace
}  // namespace rookery::archive
