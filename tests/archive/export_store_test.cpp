// What was asked for and what became of it, as the catalog keeps it.
#include "archive/export_store.h"

#include "archive/schema.h"
#include "tests/archive/archive_support.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;

class ExportStoreTest : public test::Hall {
 protected:
  ExportStoreTest() : exports(*catalog) { test::add_people(*catalog, 1); }
  StoredExport asked(const char* id) const {
    StoredExport one(id, 1, clock.wall(),
                     ExportRequest(anvil, clock.wall() - 1h, clock.wall(), ExportFormat::mp4));
    one.request.frames_per_s = 12;
    return one;
  }
  std::vector<StoredExport> all() {
    EXPECT_TRUE(catalog->flush());
    return exports.all().value();
  }
  ExportStore exports;
};

TEST_F(ExportStoreTest, WhatWasAskedForIsReadAsItWas) {
  StoredExport film = asked("b");
  film.lapse.emplace();
  film.lapse->what = "anvil";
  film.lapse->format = FilmFormat::webp;
  film.lapse->length_s = 12.5;
  film.lapse->frames_per_s = 10;
  film.lapse->width_px = 320;
  film.lapse->card = "Schüssel \"blau\"\n2";
  film.lapse->lit_only = true;
  film.lapse->clock = true;
  ASSERT_TRUE(exports.add(film));
  StoredExport fast = asked("a");
  fast.lapse.emplace();
  fast.lapse->what = "anvil";
  fast.lapse->speed = 600;
  ASSERT_TRUE(exports.add(fast));
  const auto found = all();
  ASSERT_EQ(found.size(), 2u);
  const StoredExport& one = found[0];
  EXPECT_EQ(one.id, "b") << "in the order in which they were asked for";
  EXPECT_EQ(one.person, 1);
  EXPECT_EQ(one.asked, film.asked);
  EXPECT_EQ(one.request.camera, anvil);
  EXPECT_EQ(one.request.from, film.request.from);
  EXPECT_EQ(one.request.to, film.request.to);
  EXPECT_EQ(one.request.format, ExportFormat::mp4);
  EXPECT_EQ(one.request.frames_per_s, 12);
  EXPECT_EQ(one.lapse->what, "anvil");
  EXPECT_EQ(one.lapse->format, FilmFormat::webp);
  EXPECT_EQ(one.lapse->length_s, 12.5);
  EXPECT_EQ(one.lapse->frames_per_s, 10);
  EXPECT_EQ(one.lapse->width_px, 320);
  EXPECT_EQ(one.lapse->card, film.lapse->card);
  EXPECT_TRUE(one.lapse->lit_only);
  EXPECT_TRUE(one.lapse->clock);
  EXPECT_EQ(found[1].lapse->speed, 600);
  EXPECT_TRUE(one.is_wanted());
}

TEST_F(ExportStoreTest, WhatBecameOfItIsReadAsItWas) {
  ASSERT_TRUE(exports.add(asked("made")));
  ASSERT_TRUE(exports.add(asked("film")));
  ASSERT_TRUE(exports.add(asked("failed")));
  ExportResult result;
  result.frames = 7;
  result.bytes = 1ull << 40;
  result.first = clock.wall();
  result.last = clock.wall() + 3us;
  result.gaps_cut = 2;
  result.cut_time = 1500ms;
  result.overlapping = 4;
  result.resized = 5;
  ASSERT_TRUE(exports.note_made("made", result, {}));
  LapseResult lapse;
  lapse.length_s = 29.96;
  lapse.wanted = 750;
  lapse.bad = 3;
  lapse.quieted = 700;
  lapse.chosen = false;
  lapse.steady = false;
  lapse.remark = "broken off at 12 s";
  lapse.cuts.push_back({12.5, {}, "the camera was turned"});
  ASSERT_TRUE(exports.note_made("film", result, lapse));
  const base::Error error(base::ErrorCode::disk_full, "export", "no room", "Make some.");
  ASSERT_TRUE(exports.note_failed("failed", error));
  ASSERT_TRUE(exports.note_failed("nobody's", error)) << "it changes nothing";
  const auto found = all();
  ASSERT_EQ(found.size(), 3u);
  EXPECT_EQ(found[0].result->bytes, result.bytes);
  EXPECT_EQ(found[0].result->last, result.last);
  EXPECT_EQ(found[0].result->gaps_cut, 2u);
  EXPECT_EQ(found[0].result->cut_time, 1500ms);
  EXPECT_EQ(found[0].result->overlapping, 4u);
  EXPECT_EQ(found[0].result->resized, 5u);
  EXPECT_FALSE(found[0].lapse_result.has_value());
  EXPECT_EQ(found[1].lapse_result->length_s, 29.96);
  EXPECT_EQ(found[1].lapse_result->wanted, 750);
  EXPECT_EQ(found[1].lapse_result->bad, 3u);
  EXPECT_EQ(found[1].lapse_result->quieted, 700);
  EXPECT_FALSE(found[1].lapse_result->chosen);
  EXPECT_FALSE(found[1].lapse_result->steady);
  EXPECT_EQ(found[1].lapse_result->remark, "broken off at 12 s");
  EXPECT_EQ(found[1].lapse_result->cuts.at(0).why, "the camera was turned");
  EXPECT_EQ(found[2].error, error);
  EXPECT_FALSE(found[2].is_wanted());
}

// A station that was brought up to date shows the films of the version before.
TEST_F(ExportStoreTest, AFilmOfAnEarlierVersionIsReadWithoutWhatItDidNotTell) {
  ASSERT_TRUE(exports.add(asked("film")));
  LapseResult lapse;
  lapse.wanted = 750;
  ASSERT_TRUE(exports.note_made("film", {}, lapse));
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    db.exec(
        "UPDATE export SET outcome = json_remove(outcome, '$.lapse.quieted', '$.lapse.chosen',"
        " '$.lapse.steady', '$.lapse.remark')");
    return base::ok();
  }));
  const auto found = all();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].lapse_result->wanted, 750);
  EXPECT_EQ(found[0].lapse_result->quieted, 0);
  EXPECT_TRUE(found[0].lapse_result->chosen);
}

TEST_F(ExportStoreTest, BegunIsCountedUntilItIsPutBack) {
  ASSERT_TRUE(exports.add(asked("a")));
  ASSERT_TRUE(exports.note_begun("a"));
  ASSERT_TRUE(exports.note_begun("a"));
  EXPECT_EQ(all().front().begun, 2);
  ASSERT_TRUE(exports.put_back("a"));
  EXPECT_EQ(all().front().begun, 0);
  exports.forget_later("a");
  EXPECT_TRUE(all().empty());
}

TEST_F(ExportStoreTest, OneThatCannotBeReadKeepsNoOtherFromBeingMade) {
  ASSERT_TRUE(exports.add(asked("a")));
  ASSERT_TRUE(exports.add(asked("b")));
  ASSERT_TRUE(exports.add(asked("c")));
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    db.exec("UPDATE export SET ask = '{\"camera\":\"anvil\"}' WHERE id = 'a'");
    db.exec("UPDATE export SET outcome = '[1' WHERE id = 'b'");
    return base::ok();
  }));
  ASSERT_EQ(all().size(), 1u);
  EXPECT_EQ(all().front().id, "c");
}

// A catalog of the version before had no exports, and everything else stays.
TEST(ExportSchema, ACatalogOfTheSeventhVersionTakesThem) {
  rookery::support::HomeFolder folder;
  {
    SQLite::Database db((folder.path() / "catalog.db").string(),
                        SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    ASSERT_TRUE(schema::bring_up(db, 7));
    db.exec(
        "INSERT INTO person(name, folded, role, password, all_cameras)"
        " VALUES('Marta', 'marta', 'owner', '', 1)");
    db.exec("INSERT INTO recorded(camera) VALUES('anvil')");
    db.exec("INSERT INTO job(recorded, label, began_by, start_us, end_us) VALUES(1, 'vase', 'hand', 1, 2)");
    db.exec("INSERT INTO film(job, length_s, state, turn) VALUES(1, 30, 'wanted', 1)");
  }
  const auto catalog = Catalog::open(folder.path()).value();
  const ExportStore exports(*catalog);
  EXPECT_TRUE(exports.all()->empty());
  const ExportRequest request(test::name("anvil"), {}, base::WallTime{1h}, ExportFormat::matroska);
  ExportStore store(*catalog);
  EXPECT_TRUE(store.add(StoredExport("a", 1, {}, request)));
  EXPECT_EQ(store.all()->size(), 1u);
  EXPECT_TRUE(catalog
                  ->read([](SQLite::Database& db) -> base::Result<void> {
                    EXPECT_EQ(db.execAndGet("SELECT count(*) FROM film").getInt(), 1);
                    EXPECT_EQ(db.execAndGet("SELECT label FROM job").getString(), "vase");
                    return base::ok();
                  })
                  .has_value());
}

}  // namespace
}  // namespace rookery::archive
