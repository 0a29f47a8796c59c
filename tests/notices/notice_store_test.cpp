// Receivers and rules come back as they were put, and secrets are sealed.
#include "notices/notice_store.h"

#include <gtest/gtest.h>

#include <fstream>

#include "tests/support/home_folder.h"

namespace rookery::notices {
namespace {

using namespace std::chrono_literals;
using base::ErrorCode;

class NoticeStoreTest : public testing::Test {
 protected:
  NoticeStoreTest() : catalog(archive::Catalog::open(folder.path()).value()), store(*catalog) {}
  static Receiver hook(const char* name = "hook") {
    return {0, name, true, Webhook{"https://hall.example/notices", "a secret that is long", "/etc/hall.pem"}};
  }
  std::string all_bytes() const {
    std::string bytes;
    for (const char* file : {"catalog.db", "catalog.db-wal"}) {
      std::ifstream in(folder.path() / file, std::ios::binary);
      bytes.append(std::istreambuf_iterator<char>(in), {});
    }
    return bytes;
  }
  support::HomeFolder folder;
  std::unique_ptr<archive::Catalog> catalog;
  NoticeStore store;
};

TEST_F(NoticeStoreTest, AReceiverComesBackAndItsSecretIsSealed) {
  const Receiver added = store.add(hook()).value();
  EXPECT_GT(added.id, 0);
  EXPECT_EQ(store.receiver(added.id).value(), added);
  EXPECT_EQ(store.receivers().value(), std::vector{added});
  EXPECT_EQ(all_bytes().find("a secret that is long"), std::string::npos);
}

TEST_F(NoticeStoreTest, AChangeKeepsTheSecretUnlessAnotherIsGiven) {
  Receiver receiver = store.add(hook()).value();
  receiver.name = "the other hook";
  set_secret(receiver, "");
  ASSERT_TRUE(store.set(receiver, true));
  EXPECT_EQ(secret_of(store.receiver(receiver.id).value()), "a secret that is long");
  set_secret(receiver, "another that is long");
  ASSERT_TRUE(store.set(receiver, false));
  EXPECT_EQ(store.receiver(receiver.id).value(), receiver);
}

TEST_F(NoticeStoreTest, NamesAreTakenOnce) {
  const Receiver first = store.add(hook()).value();
  EXPECT_EQ(store.add(hook()).error().code, ErrorCode::already_exists);
  Receiver second = store.add(hook("second")).value();
  second.name = first.name;
  EXPECT_EQ(store.set(second, true).error().code, ErrorCode::already_exists);
  EXPECT_EQ(store.remove_receiver(99).error().code, ErrorCode::not_found);
}

TEST_F(NoticeStoreTest, ARuleComesBackWithAllOfIt) {
  const Receiver receiver = store.add(hook()).value();
  Rule rule;
  rule.name = "nights";
  rule.receivers = {receiver.id};
  rule.cameras = {base::CameraName::parse("back-door").value()};
  rule.causes = {archive::Event::Cause::view};
  rule.least_peak = 0.02;
  rule.hours = {0b0011111, 1320, 360};
  rule.quiet = 90s;
  rule.at_end = true;
  rule.snoozed_until = base::parse_rfc3339("2026-03-02T06:00:00Z").value();
  rule = store.add(rule).value();
  EXPECT_EQ(store.rule(rule.id).value(), rule);
  rule.cameras.reset();
  rule.snoozed_until.reset();
  rule.receivers.clear();
  ASSERT_TRUE(store.set(rule));
  EXPECT_EQ(store.rules().value(), std::vector{rule});
  ASSERT_TRUE(store.remove_rule(rule.id));
  EXPECT_TRUE(store.rules().value().empty());
}

TEST_F(NoticeStoreTest, ARuleForAReceiverThatIsNotThereIsRefusedAndOneThatGoesLeavesTheRule) {
  Rule rule;
  rule.name = "nights";
  rule.receivers = {42};
  EXPECT_EQ(store.add(rule).error().code, ErrorCode::invalid_value);
  EXPECT_TRUE(store.rules().value().empty());
  const Receiver receiver = store.add(hook()).value();
  rule.receivers = {receiver.id};
  rule = store.add(rule).value();
  ASSERT_TRUE(store.remove_receiver(receiver.id));
  EXPECT_TRUE(store.rule(rule.id).value().receivers.empty());
}

TEST_F(NoticeStoreTest, EveryChangeIsASettingOfTheStation) {
  std::int64_t last = catalog->settings_version();
  const auto moved = [&] { return std::exchange(last, catalog->settings_version()) < last; };
  Receiver receiver = store.add(hook()).value();
  EXPECT_TRUE(moved());
  Rule rule;
  rule.name = "nights";
  rule = store.add(rule).value();
  EXPECT_TRUE(moved());
  rule.receivers = {receiver.id};
  ASSERT_TRUE(store.set(rule));
  EXPECT_TRUE(moved());
  ASSERT_TRUE(store.snooze(base::parse_rfc3339("2026-03-02T06:00:00Z").value()));
  EXPECT_TRUE(moved());
  EXPECT_TRUE(store.snoozed_until().value().has_value());
  ASSERT_TRUE(store.snooze(std::nullopt));
  EXPECT_TRUE(moved());
  EXPECT_FALSE(store.snoozed_until().value().has_value());
}

TEST_F(NoticeStoreTest, ThereIsABound) {
  for (std::size_t i = 0; i < NoticeStore::kMostReceivers; ++i)
    ASSERT_TRUE(store.add(hook(fmt::format("hook {}", i).c_str())));
  EXPECT_EQ(store.add(hook()).error().code, ErrorCode::too_large);
}

}  // namespace
}  // namespace rookery::notices
