// A catalog that an earlier program made is brought up to date with what stands in it.
#include "archive/schema.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include "archive/camera_store.h"
#include "archive/film_store.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

class SchemaTest : public testing::Test {
 protected:
  // A catalog of `version`, with what `more` puts into it.
  void make(int version, const char* more) {
    SQLite::Database db((folder.path() / "catalog.db").string(),
                        SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    ASSERT_TRUE(schema::bring_up(db, version));
    db.exec(more);
  }
  support::HomeFolder folder;
};

TEST_F(SchemaTest, CamerasOfTheSecondVersionRecordAsTheyDid) {
  make(2,
       "INSERT INTO camera(name, position, title, source, stream_address, still_address, user, poll_every_ms,"
       " enabled, recording) VALUES('anvil', 1, '', 'pushed', '', '', '', 1000, 1, 1),"
       " ('bobbin', 2, 'By the window', 'pushed', '', '', '', 2000, 1, 0)");
  const auto catalog = Catalog::open(folder.path()).value();
  const auto cameras = CameraStore(*catalog).list().value();
  ASSERT_EQ(cameras.size(), 2u);
  camera::Settings anvil(base::CameraName::parse("anvil").value());
  anvil.source = camera::Source::pushed;
  EXPECT_EQ(cameras[0], anvil);
  EXPECT_EQ(cameras[1].record, camera::Record::never);
  EXPECT_EQ(cameras[1].title, "By the window");
}

TEST_F(SchemaTest, ChangesOfAnOlderCatalogsCamerasAreNoticed) {
  make(2, "");
  const auto catalog = Catalog::open(folder.path()).value();
  camera::Settings anvil(base::CameraName::parse("anvil").value());
  anvil.source = camera::Source::pushed;
  ASSERT_TRUE(CameraStore(*catalog).add(anvil));
  const auto before = catalog->settings_version();
  anvil.sensitivity.step = 5;
  ASSERT_TRUE(CameraStore(*catalog).set(anvil));
  EXPECT_GT(catalog->settings_version(), before);
}

TEST_F(SchemaTest, FilmsOfTheEighthVersionWereNotBegun) {
  make(8,
       "INSERT INTO recorded(camera) VALUES('anvil');"
       "INSERT INTO job(recorded, label, began_by, start_us, end_us) VALUES(1, 'vase', 'hand', 1, 2);"
       "INSERT INTO film(job, length_s, state, turn) VALUES(1, 45, 'wanted', 1)");
  const auto catalog = Catalog::open(folder.path()).value();
  const auto film = FilmStore(*catalog).next_wanted().value();
  ASSERT_TRUE(film.has_value());
  EXPECT_EQ(film->length_s, 45);
  EXPECT_EQ(film->begun, 0);
}

TEST_F(SchemaTest, EveryEarlierVersionComesUp) {
  for (int version = 1; version < schema::kVersion; ++version) {
    std::filesystem::remove(folder.path() / "catalog.db");
    make(version, "");
    EXPECT_TRUE(Catalog::open(folder.path())) << version;
  }
}

}  // namespace
}  // namespace rookery::archive
