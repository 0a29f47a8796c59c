// Cameras come back as they were set, in order, and their passwords never stand in the file.
#include "archive/camera_store.h"

#include <gtest/gtest.h>

#include <sys/stat.h>
#include <thread>

#include <fstream>
#include <iterator>

#include "archive/segment_store.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;
using camera::Settings;
using camera::Source;

base::CameraName named(const char* text) { return base::CameraName::parse(text).value(); }

Settings anvil() {
  Settings settings(named("anvil"));
  settings.title = "Anvil, the big printer";
  settings.stream_address = "http://192.0.2.11:81/stream";
  settings.still_address = "http://192.0.2.11/still.jpg";
  settings.user = "hall";
  settings.password = "saltmarsh-tide-table";
  settings.poll_every = 2500ms;
  settings.record = camera::Record::never;
  settings.keep_for = std::chrono::hours{24 * 14};
  settings.keep_bytes = 50'000'000'000u;
  return settings;
}

Settings plain(const char* name) {
  Settings settings(named(name));
  settings.stream_address = std::string("http://192.0.2.12/") + name;
  return settings;
}

std::string all_bytes_below(const std::filesystem::path& folder) {
  std::string bytes;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    std::ifstream file(entry.path(), std::ios::binary);
    bytes.append(std::istreambuf_iterator<char>(file), {});
  }
  return bytes;
}

class CameraStoreTest : public testing::Test {
 protected:
  CameraStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {}
  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  CameraStore store;
};

TEST_F(CameraStoreTest, GivesBackEverySetting) {
  ASSERT_TRUE(store.add(anvil()));
  EXPECT_EQ(store.find(named("anvil")).value(), anvil());
  Settings changed(named("anvil"));
  changed.source = Source::stills;
  changed.still_address = "https://192.0.2.11/still.jpg";
  changed.enabled = false;
  ASSERT_TRUE(store.set(changed));
  EXPECT_EQ(store.find(named("anvil")).value(), changed);
  changed.source = Source::pushed;
  ASSERT_TRUE(store.set(changed));
  EXPECT_EQ(store.find(named("anvil")).value(), changed);
}

TEST_F(CameraStoreTest, KeepsTheOrderInWhichTheyWereAdded) {
  for (const char* name : {"cog", "anvil", "bobbin"}) ASSERT_TRUE(store.add(plain(name)));
  ASSERT_TRUE(store.set(plain("cog")));
  ASSERT_TRUE(store.remove(named("anvil")));
  ASSERT_TRUE(store.add(plain("anvil")));
  std::vector<std::string> names;
  const std::vector<Settings> all = store.list().value();
  for (const Settings& settings : all) names.push_back(settings.name.text());
  EXPECT_EQ(names, (std::vector<std::string>{"cog", "bobbin", "anvil"}));
}

TEST_F(CameraStoreTest, SaysWhichNameIsTakenOrMissing) {
  ASSERT_TRUE(store.add(plain("cog")));
  EXPECT_EQ(store.add(plain("cog")).error().code, base::ErrorCode::already_exists);
  EXPECT_EQ(store.set(plain("bobbin")).error().code, base::ErrorCode::not_found);
  EXPECT_EQ(store.remove(named("bobbin")).error().code, base::ErrorCode::not_found);
  EXPECT_EQ(store.find(named("bobbin")).error().where, "bobbin");
}

TEST_F(CameraStoreTest, RefusesSettingsThatCannotWork) {
  Settings settings = plain("cog");
  settings.stream_address = "ftp://192.0.2.12/";
  EXPECT_EQ(store.add(settings).error().code, base::ErrorCode::invalid_value);
  ASSERT_TRUE(store.add(plain("cog")));
  EXPECT_EQ(store.set(settings).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(store.find(named("cog")).value(), plain("cog"));
}

TEST_F(CameraStoreTest, RecordingsOutliveTheCamera) {
  ASSERT_TRUE(store.add(anvil()));
  SegmentStore segments(*catalog);
  Segment segment(named("anvil"));
  segment.path = "anvil/2026-03-01/120000.000Z.mkv";
  segment.bytes = 77;
  ASSERT_TRUE(segments.add(segment));
  ASSERT_TRUE(store.remove(named("anvil")));
  EXPECT_EQ(segments.bytes_of(named("anvil")).value(), 77u);
  EXPECT_EQ(segments.cameras().value(), std::vector{named("anvil")});
}

TEST_F(CameraStoreTest, NoPasswordStandsInAnyFileOfTheHome) {
  ASSERT_TRUE(store.add(anvil()));
  EXPECT_EQ(all_bytes_below(folder.path()).find(anvil().password), std::string::npos);
  catalog.reset();  // the log has gone into catalog.db now
  const std::string bytes = all_bytes_below(folder.path());
  EXPECT_EQ(bytes.find(anvil().password), std::string::npos);
  EXPECT_NE(bytes.find(anvil().stream_address), std::string::npos);  // so the search does find what is there
}

TEST_F(CameraStoreTest, KeyIsForTheOwnerOfTheProcessOnly) {
  ASSERT_TRUE(store.add(plain("cog")));
  EXPECT_FALSE(std::filesystem::exists(folder.path() / "station.key"));  // nothing to seal yet
  ASSERT_TRUE(store.add(anvil()));
  struct stat info {};
  ASSERT_EQ(::stat((folder.path() / "station.key").c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777u, 0600u);
  EXPECT_EQ(info.st_size, 32);
}

TEST_F(CameraStoreTest, ALostKeyCostsThePasswordsButNotTheCameras) {
  ASSERT_TRUE(store.add(anvil()));
  ASSERT_TRUE(store.add(plain("cog")));
  std::filesystem::remove(folder.path() / "station.key");
  ASSERT_EQ(store.list().value().size(), 2u);
  Settings settings = store.find(named("anvil")).value();
  EXPECT_EQ(settings.password, "");
  settings.password = "set-anew";  // makes a new key
  ASSERT_TRUE(store.set(settings));
  EXPECT_EQ(store.find(named("anvil")).value().password, "set-anew");
}

TEST_F(CameraStoreTest, AChangeWhileTheKeyIsAwayLeavesTheSealedPassword) {
  ASSERT_TRUE(store.add(anvil()));
  const auto key = folder.path() / "station.key";
  std::filesystem::rename(key, folder.path() / "away");
  ASSERT_TRUE(store.change(named("anvil"), [](Settings& settings) -> base::Result<void> {
    settings.title = "Long bench";
    return base::ok();
  }));
  Settings settings = store.find(named("anvil")).value();
  settings.record = camera::Record::never;
  ASSERT_TRUE(store.set(settings));
  std::filesystem::rename(folder.path() / "away", key);
  settings = store.find(named("anvil")).value();
  EXPECT_EQ(settings.title, "Long bench");
  EXPECT_EQ(settings.record, camera::Record::never);
  EXPECT_EQ(settings.password, anvil().password);
}

// The page and the command line at the same time, each with another setting of one camera.
TEST_F(CameraStoreTest, TwoWhoChangeOneCameraLoseNothingOfEachOthers) {
  ASSERT_TRUE(store.add(plain("cog")));
  const auto raise = [this](auto field) {
    for (int i = 0; i < 20; ++i) {
      EXPECT_TRUE(store.change(named("cog"), [&](Settings& settings) -> base::Result<void> {
        field(settings);
        return base::ok();
      }));
    }
  };
  const auto before = store.find(named("cog")).value();
  std::thread page(
      [&] { raise([](Settings& settings) { settings.poll_every += std::chrono::milliseconds{1}; }); });
  std::thread command([&] { raise([](Settings& settings) { settings.title += "x"; }); });
  page.join();
  command.join();
  const auto after = store.find(named("cog")).value();
  EXPECT_EQ(after.poll_every, before.poll_every + std::chrono::milliseconds{20});
  EXPECT_EQ(after.title, before.title + std::string(20, 'x'));
}

TEST_F(CameraStoreTest, ADamagedKeyIsSaidAndNotReplaced) {
  ASSERT_TRUE(store.add(anvil()));
  std::ofstream(folder.path() / "station.key") << "short";
  const auto listed = store.list();
  ASSERT_FALSE(listed);
  EXPECT_EQ(listed.error().code, base::ErrorCode::damaged);
  EXPECT_NE(listed.error().text().find("station.key"), std::string::npos);
  EXPECT_EQ(store.set(anvil()).error().code, base::ErrorCode::damaged);
}

// A board serves one viewer, so two cameras must not pull one stream.
TEST(CameraStore, OneStreamBelongsToOneCamera) {
  support::HomeFolder folder;
  const auto catalog = Catalog::open(folder.path()).value();
  CameraStore store(*catalog);
  auto twin = plain("anvil");
  ASSERT_TRUE(store.add(plain("cog")));
  twin.stream_address = plain("cog").stream_address;
  EXPECT_EQ(store.add(twin).error().code, base::ErrorCode::already_exists);
  ASSERT_TRUE(store.add(plain("anvil")));
  EXPECT_EQ(store.set(twin).error().code, base::ErrorCode::already_exists);
  EXPECT_TRUE(store.set(plain("cog")));
}

TEST_F(CameraStoreTest, OneBoardIsOneHoweverItsAddressIsWritten) {
  auto cog = plain("cog");
  cog.stream_address = "http://cog.lan/stream";
  ASSERT_TRUE(store.add(cog));
  auto twin = plain("anvil");
  for (const char* address : {"http://COG.lan:80/stream", "http://cog.lan./stream", "http://cog.lan/%73tream",
                              "http://cog.lan/a/../stream", "http://cog.lan/stream?size=6"}) {
    twin.stream_address = address;
    const auto refused = store.add(twin);
    ASSERT_FALSE(refused) << address;
    EXPECT_EQ(refused.error().code, base::ErrorCode::already_exists) << address;
    EXPECT_NE(refused.error().detail.find("\"cog\""), std::string::npos) << refused.error().text();
  }
  // As stills it is the same board; behind another port or path is another one.
  auto stills = plain("bobbin");
  stills.source = camera::Source::stills;
  stills.still_address = "http://cog.lan/stream";
  EXPECT_FALSE(store.add(stills));
  stills.still_address = "http://cog.lan/still";
  EXPECT_TRUE(store.add(stills));
  twin.stream_address = "http://cog.lan:81/stream";
  EXPECT_TRUE(store.add(twin));
}

}  // namespace
}  // namespace rookery::archive
