// Who gets in, who does not, and what stands in the file.
#include "archive/people_store.h"

#include <gtest/gtest.h>
#include <time.h>

#include <fstream>
#include <iterator>
#include <thread>

#include "archive/camera_store.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;
using base::ErrorCode;

const base::WallTime kNoon = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
const std::string kPassword = "tide at half past four";

base::CameraName named(const char* text) { return base::CameraName::parse(text).value(); }

class PeopleStoreTest : public testing::Test {
 protected:
  PeopleStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {
    for (const char* name : {"anvil", "back-door"}) {
      camera::Settings settings(named(name));
      settings.stream_address = std::string("http://192.0.2.1/") + name;
      EXPECT_TRUE(CameraStore(*catalog).add(settings));
    }
  }
  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  PeopleStore store;
};

TEST_F(PeopleStoreTest, OnlyTheRightPasswordGetsIn) {
  const Person mara = store.add("Mara", Role::owner, kPassword).value();
  EXPECT_EQ(store.check_password("Mara", kPassword).value().id, mara.id);
  EXPECT_EQ(store.check_password("mARA", kPassword).value().name, "Mara");
  const auto wrong = store.check_password("Mara", kPassword + "!");
  const auto unknown = store.check_password("Nobody", kPassword);
  const auto empty = store.check_password("", "");
  ASSERT_FALSE(wrong);
  ASSERT_FALSE(unknown);
  ASSERT_FALSE(empty);
  EXPECT_EQ(wrong.error().code, ErrorCode::no_permission);
  EXPECT_EQ(wrong.error(), unknown.error());
  EXPECT_EQ(wrong.error(), empty.error());
  EXPECT_EQ(wrong.error().text().find("Mara"), std::string::npos);
}

double thread_seconds() {
  timespec now{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

// Measured in this thread's own computing time, which a busy machine does not stretch; the least of several.
TEST_F(PeopleStoreTest, AnUnknownNameCostsAsMuchAsAWrongPassword) {
  ASSERT_TRUE(store.add("Mara", Role::owner, kPassword));
  (void)store.check_password("Nobody", "wrong password");  // makes the hash to compare with
  const auto least = [&](const char* name) {
    double shortest = 1e9;
    for (int i = 0; i < 5; ++i) {
      const double start = thread_seconds();
      (void)store.check_password(name, "wrong password");
      shortest = std::min(shortest, thread_seconds() - start);
    }
    return shortest;
  };
  const double known = least("Mara"), unknown = least("Nobody");
  EXPECT_LT(std::abs(known - unknown), 0.3 * std::max(known, unknown)) << known << " s, " << unknown << " s";
}

TEST_F(PeopleStoreTest, NamesAreOneWithoutRegardToCase) {
  ASSERT_TRUE(store.add("Øystein Ärlig", Role::viewer, kPassword));
  EXPECT_EQ(store.add("øYSTEIN ÄRLIG", Role::viewer, kPassword).error().code, ErrorCode::already_exists);
  EXPECT_TRUE(store.check_password("øystein ärlig", kPassword));
}

TEST_F(PeopleStoreTest, RefusesNamesAndPasswordsThatCannotBe) {
  const std::string longest(64, 'x');
  for (const std::string& name :
       std::vector<std::string>{"", longest + "x", "a\nb", " Mara", "Mara ", "Mara\xe2\x80\xae", "\xff",
                                "\xc3", "\xed\xa0\x80", std::string("a\0b", 3), "zero\xe2\x80\x8bwidth"}) {
    const auto refused = store.add(name, Role::viewer, kPassword);
    ASSERT_FALSE(refused) << name;
    EXPECT_EQ(refused.error().code, ErrorCode::invalid_value) << name;
  }
  EXPECT_EQ(store.add("Mara", Role::viewer, "1234567").error().code, ErrorCode::invalid_value);
  EXPECT_EQ(store.add("Mara", Role::viewer, std::string(1025, 'x')).error().code, ErrorCode::invalid_value);
  EXPECT_TRUE(store.add(longest, Role::viewer, std::string(1024, 'x')));
  EXPECT_TRUE(store.check_password(longest, std::string(1024, 'x')));
  EXPECT_FALSE(store.check_password(longest, std::string(1025, 'x')));
}

TEST_F(PeopleStoreTest, AViewerSeesWhatWasGrantedAndNoMore) {
  ASSERT_TRUE(store.add("Ilse", Role::viewer, kPassword, std::set{named("anvil")}));
  ASSERT_TRUE(store.add("Bo", Role::viewer, kPassword));
  ASSERT_TRUE(store.add("Mara", Role::owner, kPassword, std::set{named("anvil")}));
  const auto people = store.list().value();
  ASSERT_EQ(people.size(), 3u);
  EXPECT_TRUE(people[0].may_see(named("anvil")));
  EXPECT_FALSE(people[0].may_see(named("back-door")));
  EXPECT_TRUE(people[1].may_see(named("back-door")));
  EXPECT_TRUE(people[2].may_see(named("back-door")));
  ASSERT_TRUE(store.set_cameras("ilse", std::set<base::CameraName>{}));
  EXPECT_FALSE(store.list().value()[0].may_see(named("anvil")));
  ASSERT_TRUE(store.set_cameras("ilse", std::nullopt));
  EXPECT_TRUE(store.list().value()[0].may_see(named("back-door")));
}

TEST_F(PeopleStoreTest, AGrantForAnUnknownCameraChangesNothing) {
  EXPECT_EQ(store.add("Ilse", Role::viewer, kPassword, std::set{named("cog")}).error().code,
            ErrorCode::not_found);
  EXPECT_TRUE(store.list().value().empty());
  ASSERT_TRUE(store.add("Ilse", Role::viewer, kPassword, std::set{named("anvil")}));
  EXPECT_EQ(store.set_cameras("Ilse", std::set{named("back-door"), named("cog")}).error().code,
            ErrorCode::not_found);
  EXPECT_EQ(store.list().value()[0].cameras, std::set{named("anvil")});
}

TEST_F(PeopleStoreTest, ARemovedCamerasGrantAndTokenDoNotComeBackWithItsName) {
  ASSERT_TRUE(store.add("Ilse", Role::viewer, kPassword, std::set{named("anvil")}));
  const std::string token =
      store.new_token(named("anvil"), "display in the hall", TokenUse::watch, kNoon).value().secret;
  CameraStore cameras(*catalog);
  const camera::Settings settings = cameras.find(named("anvil")).value();
  ASSERT_TRUE(cameras.remove(named("anvil")));
  EXPECT_FALSE(store.list().value()[0].may_see(named("anvil")));  // and not: sees all
  ASSERT_TRUE(cameras.add(settings));
  EXPECT_FALSE(store.list().value()[0].may_see(named("anvil")));
  EXPECT_FALSE(store.check_token(named("anvil"), token, TokenUse::watch, kNoon));
}

TEST_F(PeopleStoreTest, TheLastOwnerStays) {
  ASSERT_TRUE(store.add("Mara", Role::owner, kPassword));
  ASSERT_TRUE(store.add("Ilse", Role::viewer, kPassword));
  EXPECT_EQ(store.remove("Mara").error().code, ErrorCode::refused);
  ASSERT_TRUE(store.add("Bo", Role::owner, kPassword));
  EXPECT_TRUE(store.remove("mara"));
  EXPECT_EQ(store.remove("Bo").error().code, ErrorCode::refused);
  EXPECT_EQ(store.remove("Mara").error().code, ErrorCode::not_found);
  EXPECT_EQ(store.set_password("Mara", kPassword).error().code, ErrorCode::not_found);
}

TEST_F(PeopleStoreTest, ASessionEndsWhenItsTimeIsOverOrItIsClosed) {
  const Person mara = store.add("Mara", Role::owner, kPassword).value();
  const std::string secret = store.open_session(mara.id, kNoon, kNoon + 1h).value();
  EXPECT_EQ(secret.size(), 43u);
  EXPECT_EQ(store.find_session(secret, kNoon).value().id, mara.id);
  EXPECT_TRUE(store.find_session(secret, kNoon + 1h - 1us));
  EXPECT_EQ(store.find_session(secret, kNoon + 1h).error().code, ErrorCode::no_permission);
  EXPECT_FALSE(store.find_session("", kNoon));
  EXPECT_FALSE(store.find_session(secret.substr(1), kNoon));
  ASSERT_TRUE(store.close_session(secret));
  EXPECT_FALSE(store.find_session(secret, kNoon));
  EXPECT_TRUE(store.close_session(secret));
  EXPECT_EQ(store.open_session(mara.id + 9, kNoon, kNoon + 1h).error().code, ErrorCode::not_found);
}

TEST_F(PeopleStoreTest, ANewPasswordAndARemovalEndSessions) {
  ASSERT_TRUE(store.add("Mara", Role::owner, kPassword));
  const Person ilse = store.add("Ilse", Role::viewer, kPassword).value();
  const std::string first = store.open_session(ilse.id, kNoon, kNoon + 1h).value();
  const std::string code = store.new_one_time_code(ilse.id, kNoon + 1h).value();
  ASSERT_TRUE(store.set_password("Ilse", "another long one"));
  EXPECT_FALSE(store.find_session(first, kNoon));
  EXPECT_FALSE(store.use_one_time_code(code, kNoon));
  EXPECT_FALSE(store.check_password("Ilse", kPassword));
  const std::string second = store.open_session(ilse.id, kNoon, kNoon + 1h).value();
  ASSERT_TRUE(store.remove("Ilse"));
  EXPECT_FALSE(store.find_session(second, kNoon));
}

TEST_F(PeopleStoreTest, ACodeWorksOnceAndInTime) {
  const Person mara = store.add("Mara", Role::owner, kPassword).value();
  const std::string code = store.new_one_time_code(mara.id, kNoon + 10min).value();
  EXPECT_EQ(store.use_one_time_code(code, kNoon + 10min).error().code, ErrorCode::no_permission);
  EXPECT_EQ(store.use_one_time_code(code, kNoon).value().id, mara.id);
  EXPECT_EQ(store.use_one_time_code(code, kNoon).error().code, ErrorCode::no_permission);
}

TEST_F(PeopleStoreTest, OfManyWhoUseACodeAtOnceOneGetsIn) {
  const Person mara = store.add("Mara", Role::owner, kPassword).value();
  for (int round = 0; round < 10; ++round) {
    const std::string code = store.new_one_time_code(mara.id, kNoon + 10min).value();
    std::atomic<int> in{0};
    std::vector<std::thread> threads;
    for (int i = 0; i < 4; ++i) {
      threads.emplace_back([&] {
        auto other = Catalog::open(folder.path());  // as another process would
        if (PeopleStore(**other).use_one_time_code(code, kNoon)) ++in;
      });
    }
    for (std::thread& thread : threads) thread.join();
    ASSERT_EQ(in, 1);
  }
}

TEST_F(PeopleStoreTest, ATokenOpensItsOwnCameraForItsOwnUse) {
  const auto anvil = named("anvil"), door = named("back-door");
  const std::string watch = store.new_token(anvil, "display", TokenUse::watch, kNoon).value().secret;
  const std::string push = store.new_token(anvil, "", TokenUse::push, kNoon).value().secret;
  EXPECT_TRUE(store.check_token(anvil, watch, TokenUse::watch, kNoon));
  EXPECT_TRUE(store.check_token(anvil, push, TokenUse::push, kNoon));
  EXPECT_EQ(store.check_token(anvil, watch, TokenUse::push, kNoon).error().code, ErrorCode::no_permission);
  EXPECT_EQ(store.check_token(anvil, push, TokenUse::watch, kNoon).error().code, ErrorCode::no_permission);
  EXPECT_EQ(store.check_token(door, watch, TokenUse::watch, kNoon).error().code, ErrorCode::no_permission);
  EXPECT_EQ(store.new_token(named("cog"), "", TokenUse::watch, kNoon).error().code, ErrorCode::not_found);
  EXPECT_EQ(store.new_token(anvil, "a\tb", TokenUse::watch, kNoon).error().code, ErrorCode::invalid_value);
  const auto tokens = store.list_tokens(anvil).value();
  ASSERT_EQ(tokens.size(), 2u);
  EXPECT_EQ(tokens[0].label, "display");
  EXPECT_EQ(tokens[0].made, kNoon);
  EXPECT_EQ(tokens[1].use, TokenUse::push);
  EXPECT_EQ(store.revoke_token(door, tokens[0].id).error().code, ErrorCode::not_found);
  ASSERT_TRUE(store.revoke_token(anvil, tokens[0].id));
  EXPECT_FALSE(store.check_token(anvil, watch, TokenUse::watch, kNoon));
}

TEST_F(PeopleStoreTest, UseOfATokenIsNotedToTheMinuteAndIsNoChangeOfSettings) {
  const auto anvil = named("anvil");
  const std::string token = store.new_token(anvil, "display", TokenUse::watch, kNoon).value().secret;
  EXPECT_FALSE(store.list_tokens(anvil).value()[0].last_used.has_value());
  const auto version = catalog->settings_version();
  for (const auto used : {kNoon + 5s, kNoon + 64s})
    ASSERT_TRUE(store.check_token(anvil, token, TokenUse::watch, used));
  ASSERT_TRUE(catalog->flush());
  const auto noted = store.list_tokens(anvil).value()[0].last_used;
  ASSERT_TRUE(noted.has_value());
  ASSERT_TRUE(store.check_token(anvil, token, TokenUse::watch, *noted + 59s));
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(store.list_tokens(anvil).value()[0].last_used, noted);
  ASSERT_TRUE(store.check_token(anvil, token, TokenUse::watch, *noted + 60s));
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(store.list_tokens(anvil).value()[0].last_used, *noted + 60s);
  EXPECT_EQ(catalog->settings_version(), version);
}

TEST_F(PeopleStoreTest, NoSecretStandsInTheFile) {
  const Person mara = store.add("Mara", Role::owner, kPassword).value();
  const std::vector<std::string> secrets = {
      kPassword, store.open_session(mara.id, kNoon, kNoon + 1h).value(),
      store.new_one_time_code(mara.id, kNoon + 1h).value(),
      store.new_token(named("anvil"), "display", TokenUse::watch, kNoon).value().secret};
  for (const char* name : {"catalog.db", "catalog.db-wal"}) {
    std::ifstream file(folder.path() / name, std::ios::binary);
    const std::string bytes(std::istreambuf_iterator<char>(file), {});
    ASSERT_FALSE(bytes.empty()) << name;
    for (const std::string& secret : secrets) EXPECT_EQ(bytes.find(secret), std::string::npos) << name;
  }
}

}  // namespace
}  // namespace rookery::archive
