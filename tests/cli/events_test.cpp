// rookery events, and a camera's motion settings, as scripts and people need them.
#include <gtest/gtest.h>

#include "archive/event_store.h"
#include "tests/cli/rookery_program.h"

namespace rookery::test {
namespace {

using namespace std::chrono_literals;

class EventsCommand : public testing::Test {
 protected:
  void SetUp() override {
    ASSERT_EQ(home_.run({"camera", "add", "anvil", "--pushed"}).exit_code, 0);
    auto catalog = archive::Catalog::open(home_.path()).value();
    archive::EventStore store(*catalog);
    for (int i = 1; i <= 5; ++i) {
      archive::Event event(base::CameraName::parse(i == 3 ? "bobbin" : "anvil").value());
      event.id = i;
      event.start = base::parse_rfc3339("2026-03-01T12:00:00Z").value() + i * 10s;
      event.end = event.best_at = event.start + 2500ms;
      event.peak = 0.1 * i;
      event.region = {0.4, 0.4, 0.2, 0.2};
      store.put_later(event);
    }
    ASSERT_TRUE(catalog->flush());
  }
  std::vector<std::int64_t> ids(std::vector<std::string> more) {
    more.insert(more.begin(), "events");
    std::vector<std::int64_t> found;
    for (const auto& event : home_.run_json(std::move(more))) found.push_back(event.at("id").as_int64());
    return found;
  }
  using Ids = std::vector<std::int64_t>;
  Home home_;
};

TEST_F(EventsCommand, ListsTheNewestFirstAndSaysHowToGoOn) {
  EXPECT_EQ(ids({}), (Ids{5, 4, 3, 2, 1}));
  const auto some = home_.run({"events", "--limit", "2"});
  EXPECT_EQ(some.exit_code, 0);
  EXPECT_NE(some.out.find("2026-03-01T12:00:50"), std::string::npos) << some.out;
  EXPECT_NE(some.out.find("2.5 s"), std::string::npos);
  EXPECT_NE(some.out.find("50.0 %"), std::string::npos);
  EXPECT_NE(some.out.find("centre"), std::string::npos);
  const auto place = some.err.find("--before ");
  ASSERT_NE(place, std::string::npos) << some.err;
  std::string before = some.err.substr(place + 9);
  before.resize(before.find_first_of(" \n"));
  EXPECT_EQ(ids({"--before", before}), (Ids{3, 2, 1}));
}

TEST_F(EventsCommand, FiltersLeaveOutTheOthers) {
  EXPECT_EQ(ids({"bobbin"}), (Ids{3}));
  EXPECT_EQ(ids({"anvil", "--least-peak", "35"}), (Ids{5, 4}));
  EXPECT_EQ(ids({"--from", "2026-03-01T12:00:21Z", "--to", "2026-03-01T12:00:31Z"}), (Ids{3, 2}));
  EXPECT_EQ(ids({"--cause", "view"}), Ids{});
  EXPECT_EQ(home_.run({"events", "--cause", "ghost"}).exit_code, 2);
  EXPECT_EQ(home_.run({"events", "--from", "noon"}).exit_code, 2);
  EXPECT_EQ(home_.run({"events", "--before", "here"}).exit_code, 2);
}

TEST_F(EventsCommand, KeepsAnEventAndLetsItGo) {
  const auto kept = home_.run_json({"events", "--keep", "2"});
  ASSERT_EQ(kept.size(), 1u);
  EXPECT_TRUE(kept[0].at("kept").as_bool());
  EXPECT_EQ(ids({"--kept"}), (Ids{2}));
  EXPECT_EQ(home_.run({"events", "--let-go", "2"}).exit_code, 0);
  EXPECT_EQ(ids({"--kept"}), Ids{});
  EXPECT_NE(home_.run({"events", "--keep", "99"}).exit_code, 0);
  EXPECT_EQ(home_.run({"events", "--keep", "1", "--let-go", "2"}).exit_code, 2);
}

TEST_F(EventsCommand, MotionSettingsOfACameraAreChangedAndShown) {
  ASSERT_EQ(home_
                .run({"camera", "set", "anvil", "--record", "events", "--pre-roll-ms", "3000",
                      "--post-roll-ms", "8000", "--sensitivity", "4", "--mask", "2x1@640x480:1,1"})
                .exit_code,
            0);
  const auto list = home_.run_json({"camera", "list"});
  EXPECT_EQ(list[0].at("record").as_string(), "events");
  EXPECT_EQ(list[0].at("pre_roll_ms").as_int64(), 3000);
  EXPECT_EQ(list[0].at("post_roll_ms").as_int64(), 8000);
  EXPECT_EQ(list[0].at("sensitivity").as_int64(), 4);
  EXPECT_EQ(list[0].at("mask").as_string(), "2x1@640x480:1,1");
  ASSERT_EQ(home_.run({"camera", "set", "anvil", "--mask", ""}).exit_code, 0);
  EXPECT_TRUE(home_.run_json({"camera", "list"})[0].at("mask").is_null());
  EXPECT_EQ(home_.run({"camera", "set", "anvil", "--record", "sometimes"}).exit_code, 2);
  EXPECT_EQ(home_.run({"camera", "set", "anvil", "--sensitivity", "6"}).exit_code, 2);
  EXPECT_EQ(home_.run({"camera", "set", "anvil", "--mask", "all"}).exit_code, 2);
}

}  // namespace
}  // namespace rookery::test
