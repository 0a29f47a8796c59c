// How a camera's jobs go, as stored: a change leaves alone what it does not name, as what a later version
// wrote.
#include <atomic>
#include <thread>

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>
#include <boost/json/parse.hpp>

#include "archive/camera_store.h"
#include "archive/job_store.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

namespace json = boost::json;
using namespace std::chrono_literals;

class JobSettingsStored : public testing::Test {
 protected:
  JobSettingsStored() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {
    camera::Settings settings(anvil);
    settings.source = camera::Source::pushed;
    EXPECT_TRUE(CameraStore(*catalog).add(settings));
    EXPECT_TRUE(store.set_settings(anvil, {}));
  }
  void put(const std::string& text) {
    EXPECT_TRUE(catalog->write([&](SQLite::Database& db) -> base::Result<void> {
      SQLite::Statement update(db, "UPDATE job_settings SET settings = ?");
      update.bind(1, text);
      update.exec();
      return base::ok();
    }));
  }
  json::object stored() const {
    std::string text;
    EXPECT_TRUE(catalog->read([&](SQLite::Database& db) -> base::Result<void> {
      text = db.execAndGet("SELECT settings FROM job_settings").getString();
      return base::ok();
    }));
    return json::parse(text).as_object();
  }
  base::Result<JobSettings> change(const char* text) {
    return store.change_settings(anvil, json::parse(text).as_object());
  }
  static json::value parsed(const char* text) { return json::parse(text); }

  const base::CameraName anvil = base::CameraName::parse("anvil").value();
  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  JobStore store;
};

TEST_F(JobSettingsStored, WhatIsNotKnownStaysWhateverIsChanged) {
  put(R"({"by_movement":true,"colour":{"of":["a","b"]},"tell":["still","burnt"]})");
  EXPECT_EQ(change(R"({"film_s":60})")->film, 60s);
  EXPECT_EQ(stored().at("colour"), parsed(R"({"of":["a","b"]})"));
  EXPECT_EQ(stored().at("tell"), parsed(R"(["still","burnt"])")) << "it was not named";
  EXPECT_EQ(stored().at("film_s"), 60);
  EXPECT_EQ(stored().at("by_movement"), true);
  EXPECT_EQ(stored().at("still_after_s"), 600) << "and what never was stored is as it is now";
  ASSERT_TRUE(change(R"({"tell":["still"]})"));
  EXPECT_EQ(stored().at("tell"), parsed(R"(["still"])"));
}

TEST_F(JobSettingsStored, WhatIsNotKnownOfTheBedStays) {
  put(R"({"bed":{"x":0,"y":0,"w":0.5,"h":0.5,"turned":12}})");
  EXPECT_EQ(store.settings(anvil)->bed, (vision::PictureShare{0, 0, 0.5, 0.5})) << "the rest of it holds";
  ASSERT_TRUE(change(R"({"bed":{"x":0.25,"y":0,"w":0.5,"h":0.5}})"));
  EXPECT_EQ(stored().at("bed").at("turned"), 12);
  EXPECT_EQ(stored().at("bed").at("x"), 0.25);
  EXPECT_EQ(store.settings(anvil)->bed, (vision::PictureShare{0.25, 0, 0.5, 0.5}));
  ASSERT_TRUE(change(R"({"bed":null})"));
  EXPECT_TRUE(stored().at("bed").is_null());
}

TEST_F(JobSettingsStored, WhatIsNotKnownOfAStopStays) {
  put(R"({"stop":{"receiver":3,"signs":["still"],"hold_s":60,"how":{"softly":true}}})");
  EXPECT_EQ(store.settings(anvil)->stop.receiver, 3) << "the rest of it holds";
  ASSERT_TRUE(change(R"({"stop":{"receiver":4,"signs":["loose"],"hold_s":90}})"));
  EXPECT_EQ(stored().at("stop").at("how"), parsed(R"({"softly":true})"));
  EXPECT_EQ(store.settings(anvil)->stop, (JobStop{4, {vision::JobSign::loose}, 90s}));
}

TEST_F(JobSettingsStored, WhatIsNotKnownOfHoursGoesWithItsSpan) {
  put(R"({"hours":[{"days":1,"from_min":480,"length_min":60,"label":"a"},
                   {"days":2,"from_min":540.0,"length_min":60,"label":"b"}]})");
  ASSERT_EQ(store.settings(anvil)->hours.size(), 2u) << "the rest of them holds";
  const auto labels = [&] {
    std::string all;
    const json::object now = stored();
    for (const json::value& span : now.at("hours").as_array()) {
      const json::value* label = span.as_object().if_contains("label");
      all += label != nullptr ? std::string(label->as_string()) : "-";
    }
    return all;
  };
  // One more, in front.
  ASSERT_TRUE(change(R"({"hours":[{"days":4,"from_min":0,"length_min":5},
    {"days":1,"from_min":480,"length_min":60},{"days":2,"from_min":540,"length_min":60}]})"));
  EXPECT_EQ(labels(), "-ab");
  ASSERT_TRUE(change(R"({"hours":[{"days":4,"from_min":0,"length_min":5},
    {"days":1,"from_min":490,"length_min":60},{"days":2,"from_min":540,"length_min":60}]})"));
  EXPECT_EQ(labels(), "-ab") << "one that was changed in its place";
  ASSERT_TRUE(change(R"({"hours":[{"days":2,"from_min":540,"length_min":60},
    {"days":4,"from_min":0,"length_min":5}]})"));
  EXPECT_EQ(labels(), "b-") << "two in another order, one gone";
  EXPECT_EQ(store.settings(anvil)->hours, (std::vector<JobHours>{{2, 540, 60min}, {4, 0, 5min}}));
}

TEST_F(JobSettingsStored, WhatAPersonSendsMustBeKnownAllTheSame) {
  put(R"({"stop":{"receiver":3,"signs":[],"hold_s":60,"how":1},"colour":1})");
  const json::object before = stored();
  EXPECT_FALSE(change(R"({"stop":{"receiver":3,"signs":[],"hold_s":60,"how":1}})"));
  EXPECT_FALSE(change(R"({"colour":2})"));
  EXPECT_FALSE(change(R"({"still_every_s":7,"film_s":0})")) << "all or nothing";
  EXPECT_EQ(stored(), before);
}

TEST_F(JobSettingsStored, WhatCannotBeReadAtAllGivesWayAndTakesNoStills) {
  put("{");
  ASSERT_TRUE(change(R"({"by_movement":true})"));
  EXPECT_EQ(store.settings(anvil)->keep_stills, std::chrono::hours{87600});
  EXPECT_EQ(stored().at("by_movement"), true);
}

TEST_F(JobSettingsStored, OfTwoChangesAtOnceNeitherIsLost) {
  for (int round = 0; round < 20; ++round) {
    ASSERT_TRUE(change(R"({"film_s":30,"end_after_s":600})"));
    std::atomic<int> ready{0};
    const auto both_at = [&](const char* text) {
      ++ready;
      while (ready < 2) std::this_thread::yield();
      EXPECT_TRUE(change(text));
    };
    std::thread other([&] { both_at(R"({"film_s":60})"); });
    both_at(R"({"end_after_s":900})");
    other.join();
    const JobSettings now = store.settings(anvil).value();
    EXPECT_EQ(now.film, 60s);
    EXPECT_EQ(now.end_after, 900s);
  }
}

}  // namespace
}  // namespace rookery::archive
