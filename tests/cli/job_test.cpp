// rookery job, as scripts and people need it.
#include <gtest/gtest.h>

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/catalog.h"
#include "tests/cli/rookery_program.h"

namespace rookery::test {
namespace {

class JobCommand : public testing::Test {
 protected:
  void SetUp() override { ASSERT_EQ(home_.run({"camera", "add", "anvil", "--pushed"}).exit_code, 0); }
  boost::json::object one(std::vector<std::string> words) {
    const auto lines = home_.run_json(std::move(words));
    return lines.empty() ? boost::json::object() : lines.front();
  }
  Home home_;
};

TEST_F(JobCommand, FromBeginToEnd) {
  EXPECT_NE(home_.run({"job", "list"}).out.find("No jobs"), std::string::npos);
  const auto begun = one({"job", "start", "anvil", "--label", "bracket", "--length", "4 h"});
  EXPECT_EQ(begun.at("expected_s").as_int64(), 14'400);
  EXPECT_TRUE(begun.at("end").is_null());
  const Ended again = home_.run({"job", "start", "anvil"});
  EXPECT_NE(again.exit_code, 0);
  EXPECT_NE(again.err.find("under way since"), std::string::npos) << again.err;
  EXPECT_EQ(one({"job", "list", "--under-way"}).at("label").as_string(), "bracket");
  const auto ended = one({"job", "end", "anvil", "--as", "failed", "--note", "warped"});
  EXPECT_EQ(ended.at("ending").as_string(), "failed");
  EXPECT_EQ(one({"job", "judge", "1", "bad"}).at("good"), false);
  const Ended shown = home_.run({"job", "show", "1"});
  EXPECT_NE(shown.out.find("the job began"), std::string::npos) << shown.out;
  EXPECT_NE(shown.out.find("it failed: warped"), std::string::npos) << shown.out;
  EXPECT_EQ(home_.run({"job", "forget", "1"}).exit_code, 0);
  EXPECT_NE(home_.run({"job", "show", "1"}).exit_code, 0);
}

// As labels that were stored before such were refused.
TEST_F(JobCommand, ALabelTurnsNothingInATerminal) {
  ASSERT_EQ(home_.run({"job", "start", "anvil"}).exit_code, 0);
  {
    auto catalog = archive::Catalog::open(home_.path()).value();
    ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
      db.exec("UPDATE job SET label = 'va' || char(1564) || 'se'");
      return base::ok();
    }));
  }
  const Ended list = home_.run({"job", "list"});
  EXPECT_NE(list.out.find("va\\u061cse"), std::string::npos) << list.out;
}

TEST_F(JobCommand, WhatCannotBeIsSaid) {
  for (const std::vector<std::string>& words :
       std::vector<std::vector<std::string>>{{"job", "start", "anvil", "--length", "3 kg"},
                                             {"job", "start", "anvil", "--length", "1 s"},
                                             {"job", "end", "anvil", "--as", "eaten"},
                                             {"job", "judge", "1", "so-so"},
                                             {"job", "settings", "anvil", "--hours", "noon"},
                                             {"job", "settings", "anvil", "--bed", "1,2,3"},
                                             {"job", "settings", "anvil", "--bed", "0.9,0,0.5,0.5"},
                                             {"job", "settings", "anvil", "--still-every", "1 h"},
                                             {"job", "settings", "anvil", "--tell", "mess"}})
    EXPECT_EQ(home_.run(words).exit_code, 2) << words.back();
  EXPECT_NE(home_.run({"job", "end", "anvil"}).exit_code, 0);
  EXPECT_NE(home_.run({"job", "start", "bay"}).exit_code, 0);
  EXPECT_NE(home_.run({"job", "settings", "anvil", "--pause-receiver", "nobody"}).exit_code, 0);
}

TEST_F(JobCommand, SettingsStayAsTheyAreUnlessTheyAreNamed) {
  const auto set = one({"job", "settings", "anvil", "--by-movement", "on", "--still-every", "2 s", "--hours",
                        "monday,friday 08:00 10 h", "--bed", "0.2,0.3,0.5,0.4", "--film", "none", "--tell",
                        "still", "--tell", "covered"});
  EXPECT_EQ(set.at("by_movement"), true);
  EXPECT_EQ(set.at("hours").as_array().at(0).as_object().at("days").to_number<int>(), 0b0010001);
  EXPECT_TRUE(set.at("film_s").is_null());
  const auto later = one({"job", "settings", "anvil", "--end-after", "5 min"});
  EXPECT_EQ(later.at("end_after_s").to_number<int>(), 300);
  EXPECT_EQ(later.at("still_every_s").to_number<double>(), 2);
  EXPECT_EQ(later.at("tell").as_array().size(), 2U);
  const Ended shown = home_.run({"job", "settings", "anvil"});
  EXPECT_NE(shown.out.find("monday, friday at 08:00"), std::string::npos) << shown.out;
  EXPECT_EQ(one({"job", "settings", "anvil", "--hours", "none", "--bed", "found"}).at("bed").is_null(), true);
}

TEST_F(JobCommand, ATokenThatReportsIsListedSo) {
  EXPECT_EQ(home_.run({"token", "new", "anvil", "--report", "--label", "printer"}).exit_code, 0);
  EXPECT_EQ(one({"token", "list", "anvil"}).at("use").as_string(), "report");
  EXPECT_EQ(home_.run({"token", "new", "anvil", "--report", "--push"}).exit_code, 2);
}

}  // namespace
}  // namespace rookery::test
