#include "plan/disk.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

constexpr double kDay = 86400;

// Computed from the formulas (so they check the arithmetic): REFERENCE 13.
TEST(Disk, ACameraADayAndWhatThatWears) {
  const double daily = recorded_rate(1, 50'000_B, Hertz::from_value(10), 1).value() * kDay;
  EXPECT_DOUBLE_EQ(daily, 43.2e9);
  EXPECT_EQ(std::floor(endurance_card(Bytes::from_value(128e9)).value() / daily), 2708);
  EXPECT_EQ(std::floor(flash_endurance(Bytes::from_value(32e9), 500, 2).value() / daily), 185);
}

DiskRoom any_room() {
  return {*rc::gen::inRange(0, 49) / 100.0, Bytes::from_value(*rc::gen::inRange(0, 64) * 1e9),
          Bytes::from_value(*rc::gen::inRange(0, 64) * 1e9)};
}

RC_GTEST_PROP(Disk, TheSmallestDiskHasJustThatRoom, ()) {
  const DiskRoom room = any_room();
  const Bytes wanted = Bytes::from_value(*rc::gen::inRange(1, 100'000) * 1e8);
  const Bytes disk = disk_for(wanted, room);
  RC_ASSERT(std::abs((room_on(disk, room) / wanted).value() - 1) < 1e-6);
  RC_ASSERT(usual_disk_for(disk) >= disk);
}

RC_GTEST_PROP(Disk, RoomIsNeverMoreThanTheDiskAndGrowsWithIt, ()) {
  const DiskRoom room = any_room();
  const Bytes disk = Bytes::from_value(*rc::gen::inRange(1, 2000) * 1e9);
  RC_ASSERT(room_on(disk, room) >= 0_B && room_on(disk, room) <= disk);
  RC_ASSERT(room_on(disk * 1.1, room) >= room_on(disk, room));
}

TEST(Disk, OfASmallDiskHalfIsKeptFreeAtMost) {
  EXPECT_DOUBLE_EQ(room_on(Bytes::from_value(2e9), {0, 0_B, Bytes::from_value(20e9)}).value(), 1e9);
}

base::Result<Planned> planned(std::vector<Given> more) {
  std::vector<Given> given = {{"cameras", "3"}, {"picture", "50 kB"}, {"rate", "10 /s"}};
  for (Given& one : more) {
    std::erase_if(given, [&](const Given& other) { return other.key == one.key; });
    given.push_back(std::move(one));
  }
  return plan(*find_subject("disk"), given);
}

Answer answer(std::vector<Given> more) {
  auto out = planned(std::move(more));
  EXPECT_TRUE(out) << out.error().text();
  return out ? out->answer : Answer{};
}

RC_GTEST_PROP(Disk, DaysTimesDailyAreTheRoom, ()) {
  const std::string disk = std::to_string(*rc::gen::inRange(2, 9000)) + " GB";
  const std::string rate = std::to_string(*rc::gen::inRange(1, 60)) + " /s";
  const std::string events = std::to_string(*rc::gen::inRange(1, 101)) + " %";
  const std::string record = *rc::gen::element<std::string>("always", "events");
  const auto out = plan(*find_subject("disk"), std::vector<Given>{{"cameras", "2"},
                                                                  {"picture", "20 kB"},
                                                                  {"rate", rate},
                                                                  {"medium", "ssd"},
                                                                  {"disk", disk},
                                                                  {"record", record},
                                                                  {"events", events}});
  RC_ASSERT(out.has_value());
  const Answer& a = out->answer;
  const double days = a.figure("kept").value / kDay;
  RC_ASSERT(std::abs(days * a.figure("daily").value / a.figure("room").value - 1) < 1e-9);
}

TEST(Disk, ADiskGivenIsJudgedByTheDaysWanted) {
  const Answer small = answer({{"medium", "hard-disk"}, {"disk", "500 GB"}, {"days", "7 days"}});
  EXPECT_EQ(small.verdict(), Verdict::fails);
  EXPECT_EQ(small.nearest_limit()->key, "days");
  EXPECT_NE(small.nearest_limit()->remedy.find("1.00 TB"), std::string::npos)
      << small.nearest_limit()->remedy;
  EXPECT_EQ(answer({{"medium", "hard-disk"}, {"disk", "1 TB"}, {"days", "7 days"}}).verdict(),
            Verdict::holds);
}

TEST(Disk, WithoutADiskTheOneNeededIsSaid) {
  const Answer found = answer({{"medium", "hard-disk"}, {"days", "7 days"}});
  EXPECT_EQ(found.figure("disk").value, 1e12);
  EXPECT_EQ(found.verdict(), Verdict::holds);
  // The room for a week of 129.6 GB a day, and what the file system and the station keep.
  // As it is read: rounded up to what three digits write.
  const double exact = (7 * 129.6e9 + 1024.0 * 1024 * 1024) / 0.95;
  EXPECT_GT(found.figure("needed").value, exact);
  EXPECT_LT(found.figure("needed").value, exact + 1e9);
}

// Above the largest usual size as below it: the disk that is named and the smallest that is told both hold.
RC_GTEST_PROP(Disk, WhatItNamesHoldsWhenTypedBackIn, ()) {
  std::vector<Given> given = {{"cameras", std::to_string(*rc::gen::inRange(1, 200))},
                              {"picture", std::to_string(*rc::gen::inRange(5, 300)) + " kB"},
                              {"rate", std::to_string(*rc::gen::inRange(1, 600) * 0.1) + " /s"},
                              {"medium", "hard-disk"},
                              {"days", std::to_string(*rc::gen::inRange(1, 60)) + " days"},
                              {"reserved", std::to_string(*rc::gen::inRange(0, 20)) + " %"},
                              {"taken", std::to_string(*rc::gen::inRange(0, 64)) + " GB"}};
  const auto out = plan(*find_subject("disk"), given);
  if (!out) {
    RC_ASSERT(out.error().where == "disk: days");
    RC_DISCARD("more than this sum holds for");
  }
  RC_ASSERT(out->answer.limit("days").verdict == Verdict::holds);
  for (const std::string_view key : {"disk", "needed"}) {
    const Figure& figure = out->answer.figure(key);
    if (figure.value < 1e9) continue;  // the smallest that the field takes
    std::vector<Given> again = given;
    again.push_back({"disk", show_value(figure.value, figure.kind, figure.digits)});
    const auto typed = plan(*find_subject("disk"), again);
    RC_ASSERT(typed.has_value());
    RC_ASSERT(typed->answer.limit("days").verdict == Verdict::holds);
  }
}

TEST(Disk, AboveTheLargestUsualOneItNamesWholeTerabytes) {
  const Answer found = answer({{"cameras", "20"}, {"medium", "hard-disk"}, {"days", "30 days"}});
  EXPECT_GT(found.figure("disk").value, 16e12);
  EXPECT_EQ(found.figure("disk").value, std::floor(found.figure("disk").value / 1e12) * 1e12);
  EXPECT_EQ(found.verdict(), Verdict::holds);
}

TEST(Disk, MoreThanItHoldsForIsRefusedWithWhatToChange) {
  const auto much = planned({{"cameras", "1000"}, {"medium", "hard-disk"}, {"days", "10 years"}});
  ASSERT_FALSE(much);
  EXPECT_EQ(much.error().where, "disk: days");
}

TEST(Disk, EventsTakeTheirShareButTheDiskMustStillKeepUp) {
  const Answer always = answer({{"medium", "card"}, {"disk", "128 GB"}});
  const Answer events = answer({{"medium", "card"}, {"disk", "128 GB"}, {"record", "events"}});
  EXPECT_NEAR(events.figure("kept").value / always.figure("kept").value, 10, 1e-9);
  EXPECT_EQ(events.figure("write-rate").value, always.figure("write-rate").value);
}

TEST(Disk, ACardWearsOutAndIsToldOfTheOtherKind) {
  const std::vector<Given> common = {{"disk", "128 GB"}, {"days", "12 h"}};
  auto with = [&](std::vector<Given> more) {
    more.insert(more.end(), common.begin(), common.end());
    return answer(more);
  };
  const Answer card = with({{"medium", "card"}});
  EXPECT_EQ(card.limit("life").verdict, Verdict::fails);
  EXPECT_NEAR(card.figure("life").value, 128e9 * 500 / 3 / 1.5e6, 1);
  const Answer made_for_it = with({{"medium", "endurance-card"}});
  EXPECT_NEAR(made_for_it.figure("life").value, 117e12 / 1.5e6, 1);
  const Answer stated = with({{"medium", "card"}, {"endurance", "234 TB"}});
  EXPECT_NEAR(stated.figure("life").value, 234e12 / 1.5e6, 1);
  const Answer disk = with({{"medium", "hard-disk"}});
  EXPECT_EQ(disk.verdict(), Verdict::holds);
  EXPECT_EQ(disk.limits.size(), 1U);
}

TEST(Disk, ACardIsTooSlowForManyCameras) {
  const Answer many = answer({{"medium", "card"}, {"disk", "1 TB"}, {"write-rate", "1 MB/s"}});
  EXPECT_EQ(many.limit("write-rate").verdict, Verdict::fails);
  const Answer card = answer({{"medium", "card"}, {"disk", "1 TB"}});
  EXPECT_EQ(card.limit("write-rate").bound, 10e6);
}

TEST(Disk, WhereNothingIsLeftItSaysWhatTakesIt) {
  const auto full = planned({{"medium", "card"}, {"disk", "16 GB"}, {"taken", "16 GB"}});
  ASSERT_FALSE(full);
  EXPECT_EQ(full.error().where, "disk: disk");
  EXPECT_NE(full.error().remedy.find("taken"), std::string::npos);
}

}  // namespace
}  // namespace rookery::plan
