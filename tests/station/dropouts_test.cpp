// What is told of dropouts, and told anew when later ones make earlier ones clear.
#include "station/dropouts.h"

#include <algorithm>
#include <future>

#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

#include <gtest/gtest.h>

#include "tests/support/home_folder.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using camera::Cause;

base::MonoTime at(double s) {
  return base::MonoTime(
      std::chrono::duration_cast<base::MonoTime::duration>(std::chrono::duration<double>(s)));
}

class DropoutsTest : public testing::Test {
 protected:
  // One picture every 100 ms until 100 s; then none for `gap`, on the same connection.
  camera::DropoutSeen gap(base::WallTime began, std::chrono::milliseconds length) const {
    camera::DropoutSeen seen;
    for (int n = 0; n < 60; ++n) {
      camera::PictureSeen one;
      one.at = at(94.1 + n * 0.1);
      one.stamp = 5000s + n * 100ms;
      one.bytes = 30'000;
      one.connection = 1;
      seen.before.push_back(one);
    }
    seen.began = seen.before.back().at;
    seen.began_wall = began;
    seen.streaming_since = at(20);
    seen.back = seen.began + length;
    for (int n = 0; n < 50; ++n) {
      camera::PictureSeen one = seen.before.back();
      one.at = *seen.back + n * 100ms;
      *one.stamp += length + n * 100ms;
      one.luma = 110.0F;
      seen.after.push_back(one);
    }
    seen.looked = *seen.back + 5s;
    seen.others.near_live = 4;
    return seen;
  }
  // So many of 1200 packets of its last 12 s came out of order.
  static void make_uneasy(camera::DropoutSeen& seen, int out_of_order) {
    for (int n = 0; n <= 12; ++n) {
      camera::LinkSample sample;
      sample.at = at(88 + n);
      sample.round_trip = 8ms;
      sample.since_last_ack = 10ms;
      sample.segments = static_cast<std::uint32_t>(n * 100);
      sample.out_of_order = static_cast<std::uint32_t>(n * out_of_order / 12);
      sample.connection = 1;
      seen.link.push_back(sample);
    }
  }
  // The way there is lost, and then it is there again.
  camera::DropoutSeen fade(base::WallTime began) const {
    camera::DropoutSeen seen = gap(began, 9s);
    make_uneasy(seen, 144);
    for (const auto& [when, answer] :
         {std::pair{103.0, camera::ProbeAnswer::nothing}, std::pair{108.0, camera::ProbeAnswer::answered}})
      seen.probes.push_back({at(when), camera::ProbeKind::connect, answer, 10ms});
    return seen;
  }
  // It may have been the same, or of no account.
  camera::DropoutSeen faint(base::WallTime began) const {
    camera::DropoutSeen seen = gap(began, 6s);
    make_uneasy(seen, 48);
    return seen;
  }
  std::vector<archive::Dropout> told() {
    // Behind all that was posted before.
    std::promise<void> ranked;
    boost::asio::post(workers, [&ranked] { ranked.set_value(); });
    ranked.get_future().wait();
    EXPECT_TRUE(catalog->flush());
    return store.list(bobbin, 50).value();
  }

  support::HomeFolder folder;
  std::unique_ptr<archive::Catalog> catalog = archive::Catalog::open(folder.path()).value();
  archive::DropoutStore store{*catalog};
  boost::asio::thread_pool workers{1};
  const std::shared_ptr<Dropouts> dropouts = std::make_shared<Dropouts>(store, workers, nullptr);
  const base::CameraName bobbin = base::CameraName::parse("bobbin").value();
  const base::WallTime now = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
};

bool says(const archive::Dropout& dropout, std::string_view text) {
  return std::ranges::any_of(dropout.ranking.evidence,
                             [&](const std::string& line) { return line.find(text) != std::string::npos; });
}

TEST_F(DropoutsTest, OneThatWasNotClearIsToldAnewWhenLaterOnesAre) {
  dropouts->tell(bobbin, faint(now));
  ASSERT_FALSE(told().back().ranking.named.has_value()) << told().back().ranking.verdict;
  const std::string at_first = told().back().ranking.verdict;
  for (int n = 1; n <= 6; ++n) dropouts->tell(bobbin, fade(now + n * 1h));
  const auto all = told();
  ASSERT_EQ(all.size(), 7u) << "none is there twice";
  EXPECT_EQ(all.front().ranking.named, Cause::radio) << all.front().ranking.verdict;
  EXPECT_EQ(all.back().began, now);
  EXPECT_EQ(all.back().ranking.named, Cause::radio) << all.back().ranking.verdict;
  EXPECT_TRUE(says(all.back(), "Ranked anew after"));
  EXPECT_TRUE(says(all.back(), at_first)) << "what was said at first is not hidden";
}

TEST_F(DropoutsTest, AfterSevenDaysItIsNotToldAnew) {
  dropouts->tell(bobbin, faint(now));
  for (int n = 1; n <= 6; ++n) dropouts->tell(bobbin, fade(now + 8 * 24h + n * 1h));
  EXPECT_FALSE(told().back().ranking.named.has_value());
}

TEST_F(DropoutsTest, WhatAnotherCameraHasTellsNothing) {
  dropouts->tell(bobbin, faint(now));
  const auto anvil = base::CameraName::parse("anvil").value();
  for (int n = 1; n <= 6; ++n) dropouts->tell(anvil, fade(now + n * 1h));
  EXPECT_FALSE(told().back().ranking.named.has_value());
}

TEST_F(DropoutsTest, AStationThatStartsKnowsWhatItsCamerasDroppedOutBy) {
  for (int n = 1; n <= 6; ++n) dropouts->tell(bobbin, fade(now - n * 1h));
  ASSERT_EQ(told().size(), 6u);
  const auto after = std::make_shared<Dropouts>(store, workers, nullptr);
  after->recall(bobbin, now);
  after->tell(bobbin, faint(now));
  EXPECT_EQ(told().front().ranking.named, Cause::radio) << told().front().ranking.verdict;
  EXPECT_TRUE(says(told().front(), "As in 6 of its 6 other dropouts"));
}

}  // namespace
}  // namespace rookery::station
