// The pictures beside a film's: near enough to be of the same moment, and never shared by two of them.
#include "archive/lapse_beside.h"

#include <gtest/gtest.h>

#include <random>
#include <set>

namespace rookery::archive {
namespace {

using base::Microseconds;
using std::chrono::seconds;

std::vector<Beside> found(const std::vector<Microseconds>& picks, const std::vector<Microseconds>& times) {
  BesideFinder finder(picks);
  for (const auto at : times) finder.see(at);
  return finder.take();
}

TEST(BesideFinder, ThirteenOnEachSideWhereThereIsRoom) {
  std::vector<Microseconds> times;
  for (int s = 0; s <= 220; ++s) times.emplace_back(seconds(s));
  std::vector<std::int64_t> of_second;
  // A quarter of the way to the one before is 25 s, to the one behind 10 s: those at less.
  for (const Beside& one : found({seconds(10), seconds(110), seconds(150)}, times)) {
    if (one.pick == 1) of_second.push_back(one.at.count() / 1'000'000 - 110);
  }
  std::vector<std::int64_t> expected;
  for (int off = -13; off < 10; ++off)
    if (off != 0) expected.push_back(off);
  EXPECT_EQ(of_second, expected);
}

TEST(BesideFinder, NoneWhereEveryPictureIsShownOrOnlyOneIs) {
  const std::vector<Microseconds> all{seconds(0), seconds(1), seconds(2), seconds(3)};
  EXPECT_TRUE(found(all, all).empty());
  EXPECT_TRUE(found({seconds(1)}, all).empty());
  EXPECT_TRUE(found({}, all).empty());
}

TEST(BesideFinder, WhateverTheTimesTheyAreNearInOrderAndOfOneEach) {
  std::mt19937 random(7);
  for (int run = 0; run < 200; ++run) {
    std::set<std::int64_t> all;
    for (int n = 0; n < 300; ++n) all.insert(static_cast<std::int64_t>(random() % 5000));
    std::vector<Microseconds> times, picks;
    for (const auto at : all) {
      times.emplace_back(at);
      if (random() % 30 == 0) picks.emplace_back(at);
    }
    const auto beside = found(picks, times);
    std::vector<int> before(picks.size()), behind(picks.size());
    for (std::size_t i = 0; i < beside.size(); ++i) {
      const auto [at, pick] = beside[i];
      ASSERT_LT(pick, picks.size());
      EXPECT_NE(at, picks[pick]);
      EXPECT_LE(++(at < picks[pick] ? before : behind)[pick], 13);
      if (i > 0) {
        EXPECT_LT(beside[i - 1].at, at);
        EXPECT_LE(beside[i - 1].pick, pick);
      }
      for (std::size_t other = 0; other < picks.size(); ++other) {
        if (other != pick) {
          EXPECT_GT(std::abs((at - picks[other]).count()), std::abs((at - picks[pick]).count()));
        }
      }
    }
  }
}

}  // namespace
}  // namespace rookery::archive
