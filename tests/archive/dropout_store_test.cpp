// Dropouts in the catalog: told twice, kept once; the oldest go.
#include "archive/dropout_store.h"

#include <gtest/gtest.h>

#include "archive/dropout_json.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;

class DropoutStoreTest : public testing::Test {
 protected:
  static base::CameraName bobbin() { return base::CameraName::parse("bobbin").value(); }
  Dropout dropout(std::chrono::minutes ago, std::optional<camera::Cause> named) const {
    Dropout out(bobbin());
    out.began = now - ago;
    out.ranking.named = named;
    out.ranking.verdict = "a verdict";
    out.ranking.remedy = "a remedy";
    out.ranking.evidence = {"No picture for 7.5 s; usually one every 100 ms"};
    for (std::size_t n = 0; n < camera::kCauses; ++n)
      out.ranking.causes[n] = {static_cast<camera::Cause>(n), 0.125};
    out.uptime_before_s = 5000;
    return out;
  }

  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog = Catalog::open(folder.path()).value();
  DropoutStore store{*catalog};
  base::WallTime now = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
};

TEST_F(DropoutStoreTest, WhatWasToldComesBackTheNewestFirst) {
  store.put_later(dropout(30min, camera::Cause::radio));
  store.put_later(dropout(10min, std::nullopt));
  ASSERT_TRUE(catalog->flush());
  const auto list = store.list(bobbin(), 10).value();
  ASSERT_EQ(list.size(), 2u);
  EXPECT_EQ(list[0].began, now - 10min);
  EXPECT_FALSE(list[0].ranking.named.has_value());
  EXPECT_EQ(list[1].ranking.named, camera::Cause::radio);
  EXPECT_EQ(list[1].ranking.verdict, "a verdict");
  EXPECT_EQ(list[1].ranking.remedy, "a remedy");
  EXPECT_EQ(list[1].ranking.evidence.size(), 1u);
  EXPECT_NEAR(list[1].ranking.causes[3].probability, 0.125, 1e-9);
  EXPECT_EQ(list[1].uptime_before_s, 5000);
  EXPECT_EQ(store.list(bobbin(), 10, now - 10min).value().size(), 1u);
}

TEST_F(DropoutStoreTest, TheLastWordTakesThePlaceOfTheFirst) {
  store.put_later(dropout(30min, std::nullopt));
  ASSERT_TRUE(catalog->flush());
  Dropout last = dropout(30min, camera::Cause::network);
  last.back = now;
  store.put_later(last);
  ASSERT_TRUE(catalog->flush());
  const auto list = store.list(bobbin(), 10).value();
  ASSERT_EQ(list.size(), 1u);
  EXPECT_EQ(list[0].ranking.named, camera::Cause::network);
  EXPECT_EQ(list[0].back, now);
}

TEST_F(DropoutStoreTest, WhatItsOwnCluesSaidIsRememberedForTheNext) {
  Dropout told = dropout(30min, camera::Cause::radio);
  told.ranking.own[static_cast<std::size_t>(camera::CauseKind::fade)] = 0.875;
  store.put_later(told);
  ASSERT_TRUE(catalog->flush());
  const auto past = store.past(bobbin(), now).value();
  ASSERT_EQ(past.size(), 1u);
  EXPECT_NEAR(camera::share_of(camera::Cause::radio, past[0].own), 0.875, 1e-9);
}

TEST_F(DropoutStoreTest, OfADropoutThatWasToldBeforeThatNothingIsKnown) {
  EXPECT_EQ(parse_ranking("{\"cause\":\"radio\"}").own, camera::KindShares{});
  EXPECT_EQ(parse_ranking("{\"own\":[0.5,0.5]}").own, camera::KindShares{}) << "of another set of kinds";
  EXPECT_EQ(parse_ranking("{\"own\":[1,\"x\",0,0,0,0,0,0,0,0,0,0,0,0,0,0]}").own[0], 1);
}

TEST_F(DropoutStoreTest, ASpanIsSummedUp) {
  for (int n = 1; n <= 9; ++n) store.put_later(dropout(n * 60min, camera::Cause::supply));
  store.put_later(dropout(5min, camera::Cause::radio));
  store.put_later(dropout(6min, std::nullopt));
  store.put_later(dropout(31 * 24h, camera::Cause::station));
  ASSERT_TRUE(catalog->flush());
  const DropoutSummary summary = store.summary(bobbin(), now).value();
  EXPECT_EQ(summary.dropouts, 11);
  EXPECT_EQ(summary.text(), "In the last 30 days: 11 dropouts, 9 supply, 1 radio, 1 not enough to tell");
  EXPECT_EQ(store.past(bobbin(), now).value().size(), 11u);
}

TEST_F(DropoutStoreTest, OfOneCameraNoMoreThanFiveHundredOfNinetyDaysStay) {
  store.put_later(dropout(100 * 24h, camera::Cause::radio));
  for (int n = 520; n > 0; --n) store.put_later(dropout(std::chrono::minutes(n), camera::Cause::supply));
  ASSERT_TRUE(catalog->flush());
  const auto list = store.list(bobbin(), 1000).value();
  EXPECT_EQ(list.size(), DropoutStore::kMostOfOne);
  EXPECT_EQ(list.back().began, now - 500min);
}

TEST_F(DropoutStoreTest, ACameraWithoutDropoutsHasNone) {
  EXPECT_TRUE(store.list(bobbin(), 10).value().empty());
  EXPECT_EQ(store.summary(bobbin(), now).value().text(), "In the last 30 days: 0 dropouts");
}

TEST_F(DropoutStoreTest, DamagedTextIsAnEmptyRanking) {
  EXPECT_TRUE(parse_ranking("{{").verdict.empty());
  EXPECT_TRUE(parse_ranking("[1,2]").evidence.empty());
  EXPECT_TRUE(parse_ranking("{\"causes\":[1,{\"cause\":7}],\"evidence\":[1]}").evidence.empty());
}

}  // namespace
}  // namespace rookery::archive
