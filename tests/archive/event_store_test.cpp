// The log of events: what is put in, how it is paged through, and that what a person keeps stays.
#include "archive/event_store.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "archive/camera_store.h"
#include "archive/event_json.h"
#include "archive/keep_event.h"
#include "archive/segment_store.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;
using Cause = Event::Cause;

base::CameraName named(const char* text) { return base::CameraName::parse(text).value(); }
base::WallTime at(std::chrono::microseconds since_noon) {
  return base::parse_rfc3339("2026-03-01T12:00:00Z").value() + since_noon;
}

Event event_of(std::int64_t id, const char* camera, std::chrono::microseconds start,
               std::chrono::microseconds length = 3s) {
  Event event(named(camera));
  event.id = id;
  event.start = at(start);
  event.end = at(start + length);
  event.best_at = at(start + length / 2);
  event.peak = 0.02;
  event.region = {0.25, 0.5, 0.125, 0.25};
  return event;
}

class EventStoreTest : public testing::Test {
 protected:
  EventStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {}
  void put(const Event& event) {
    store.put_later(event);
    ASSERT_TRUE(catalog->flush());
  }
  std::vector<std::int64_t> ids(const EventQuery& query) const {
    std::vector<std::int64_t> found;
    const EventPage page = store.page(query).value();
    for (const Event& event : page.events) found.push_back(event.id);
    return found;
  }
  void record(const char* camera, std::chrono::microseconds from, std::chrono::microseconds to,
              const char* path) {
    Segment segment(named(camera));
    segment.start = at(from);
    segment.end = at(to);
    segment.frames = 10;
    segment.path = path;
    ASSERT_TRUE(SegmentStore(*catalog).add(segment));
    std::filesystem::create_directories((folder.path() / "archive" / path).parent_path());
  }
  bool is_kept(const char* path) { return SegmentStore(*catalog).find(path).value()->kept; }

  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  EventStore store;
};

TEST_F(EventStoreTest, AnEventComesBackAsItWasPut) {
  Event event = event_of(7, "anvil", 5s);
  event.cause = Cause::view;
  event.under_way = true;
  put(event);
  EXPECT_EQ(store.find(7).value(), event);
  EXPECT_EQ(store.last_id().value(), 7);
  EXPECT_EQ(store.find(8).error().code, base::ErrorCode::not_found);
}

TEST_F(EventStoreTest, AnEventThatGrewIsTheSameOneAndStaysKept) {
  Event event = event_of(1, "anvil", 0s);
  event.under_way = true;
  put(event);
  ASSERT_TRUE(store.set_kept(1, true));
  event.under_way = false;
  event.end = at(20s);
  event.peak = 0.5;
  event.cause = Cause::lighting;
  event.start = at(1s);
  put(event);
  event.kept = true;
  EXPECT_EQ(store.find(1).value(), event);
}

TEST_F(EventStoreTest, WhatACrashLeftUnderWayHasEndedWhenItWasLastHeardOf) {
  Event event = event_of(1, "anvil", 0s);
  event.under_way = true;
  put(event);
  put(event_of(2, "anvil", 10s));
  EXPECT_EQ(store.end_all().value(), 1u);
  event.under_way = false;
  EXPECT_EQ(store.find(1).value(), event);
}

TEST_F(EventStoreTest, AStillIsThereWhileTheMomentIsRecorded) {
  put(event_of(1, "anvil", 0s, 10s));
  EXPECT_FALSE(store.find(1).value().has_still);
  record("bobbin", 0s, 60s, "bobbin/2026-03-01/1.mkv");
  record("anvil", 6s, 60s, "anvil/2026-03-01/1.mkv");
  EXPECT_FALSE(store.find(1).value().has_still);
  record("anvil", -60s, 5s, "anvil/2026-03-01/2.mkv");
  EXPECT_TRUE(store.find(1).value().has_still);
}

TEST_F(EventStoreTest, FiltersLeaveOutTheOthers) {
  put(event_of(1, "anvil", 0s));
  Event lamp = event_of(2, "bobbin", 10s, 0s);
  lamp.cause = Cause::lighting;
  lamp.peak = 1;
  put(lamp);
  put(event_of(3, "anvil", 20s, 60s));
  ASSERT_TRUE(store.set_kept(3, true));
  using Ids = std::vector<std::int64_t>;
  EXPECT_EQ(ids({}), (Ids{3, 2, 1}));
  EXPECT_EQ(ids({.cameras = {{named("anvil")}}}), (Ids{3, 1}));
  EXPECT_EQ(ids({.cameras = {{named("anvil"), named("cog"), named("bobbin")}}}), (Ids{3, 2, 1}));
  EXPECT_EQ(ids({.cameras = {std::vector<base::CameraName>{}}}), Ids{});
  EXPECT_EQ(ids({.causes = {Cause::lighting, Cause::view}}), (Ids{2}));
  EXPECT_EQ(ids({.least_peak = 0.5}), (Ids{2}));
  EXPECT_EQ(ids({.kept = true}), (Ids{3}));
  EXPECT_EQ(ids({.kept = false}), (Ids{2, 1}));
  // Overlapping, both ends included: 1 is [0, 3], 2 is [10, 10], 3 is [20, 80].
  EXPECT_EQ(ids({.from = at(2s), .to = at(10s)}), (Ids{2, 1}));
  EXPECT_EQ(ids({.from = at(70s)}), (Ids{3}));
  EXPECT_EQ(ids({.to = at(9s)}), (Ids{1}));
  EXPECT_EQ(ids({.from = at(4s), .to = at(9s)}), Ids{});
}

TEST_F(EventStoreTest, AnAnswerLooksAtNoMoreThanItsBoundAndSaysHowItGoesOn) {
  const auto many = static_cast<std::int64_t>(EventStore::kLookedAt) + 10;
  for (std::int64_t i = 1; i <= many; ++i) {
    Event event = event_of(i, "anvil", std::chrono::seconds(i), 0s);
    event.peak = i == 1 ? 0.9 : 0.01;
    store.put_later(event);
  }
  ASSERT_TRUE(catalog->flush());
  EventQuery rare{.least_peak = 0.5};
  EventPage page = store.page(rare).value();
  EXPECT_TRUE(page.events.empty());
  ASSERT_TRUE(page.next.has_value());
  rare.before = page.next;
  page = store.page(rare).value();
  ASSERT_EQ(page.events.size(), 1u);
  EXPECT_EQ(page.events[0].id, 1);
  EXPECT_FALSE(page.next.has_value());
}

TEST_F(EventStoreTest, TheOldestGoButNoneThatIsKept) {
  for (int i = 1; i <= 6; ++i) put(event_of(i, "anvil", std::chrono::seconds(i)));
  ASSERT_TRUE(store.set_kept(1, true));
  EXPECT_EQ(store.trim(5).value(), 0u);
  EXPECT_EQ(store.trim(3).value(), 2u);
  EXPECT_EQ(ids({}), (std::vector<std::int64_t>{6, 5, 4, 1}));
}

// The one rule of keeping: nothing that belongs to a kept event goes, whatever is let go beside it.
TEST_F(EventStoreTest, KeepingAnEventKeepsItsRecordingsWithItsRolls) {
  camera::Settings settings(named("anvil"));
  settings.source = camera::Source::pushed;
  settings.pre_roll = 5s;
  settings.post_roll = 10s;
  ASSERT_TRUE(CameraStore(*catalog).add(settings));
  record("anvil", 0s, 10s, "anvil/2026-03-01/1.mkv");    // ends before the pre-roll
  record("anvil", 11s, 20s, "anvil/2026-03-01/2.mkv");   // pre-roll
  record("anvil", 21s, 45s, "anvil/2026-03-01/3.mkv");   // the event
  record("anvil", 46s, 60s, "anvil/2026-03-01/4.mkv");   // post-roll, and the next event's pre-roll
  record("anvil", 61s, 100s, "anvil/2026-03-01/5.mkv");  // the next event
  put(event_of(1, "anvil", 20s, 20s));
  put(event_of(2, "anvil", 60s, 5s));
  EXPECT_TRUE(keep_event(*catalog, 1, true).value().kept);
  EXPECT_FALSE(is_kept("anvil/2026-03-01/1.mkv"));
  EXPECT_TRUE(is_kept("anvil/2026-03-01/2.mkv"));
  EXPECT_TRUE(is_kept("anvil/2026-03-01/3.mkv"));
  EXPECT_TRUE(is_kept("anvil/2026-03-01/4.mkv"));
  EXPECT_FALSE(is_kept("anvil/2026-03-01/5.mkv"));
  EXPECT_TRUE(keep_event(*catalog, 2, true).value().kept);
  EXPECT_TRUE(is_kept("anvil/2026-03-01/5.mkv"));

  EXPECT_FALSE(keep_event(*catalog, 1, false).value().kept);
  EXPECT_FALSE(is_kept("anvil/2026-03-01/2.mkv"));
  EXPECT_FALSE(is_kept("anvil/2026-03-01/3.mkv"));
  EXPECT_TRUE(is_kept("anvil/2026-03-01/4.mkv"));
  EXPECT_TRUE(is_kept("anvil/2026-03-01/5.mkv"));
  EXPECT_EQ(keep_event(*catalog, 99, true).error().code, base::ErrorCode::not_found);
}

TEST_F(EventStoreTest, APlaceInTheLogIsItsText) {
  const EventCursor place{at(123456us), 42};
  EXPECT_EQ(EventCursor::parse(place.text()).value(), place);
  EXPECT_EQ(EventCursor::parse("-5-3").value(), (EventCursor{base::WallTime{-5us}, 3}));
  for (const char* wrong : {"", "1", "1-", "-", "1-2-3", "a-b", "1 -2", "99999999999999999999-1"})
    EXPECT_EQ(EventCursor::parse(wrong).error().code, base::ErrorCode::malformed) << wrong;
}

// Law: whatever the limit, paging gives every wanted event once, in the log's order.
RC_GTEST_FIXTURE_PROP(EventStoreTest, PagingGivesEachEventOnce, ()) {
  const char* cameras[] = {"anvil", "bobbin", "cog"};
  std::vector<Event> all;
  const auto many = *rc::gen::inRange(0, 40);
  for (int i = 1; i <= many; ++i) {
    Event event =
        event_of(i, cameras[*rc::gen::inRange(0, 3)], std::chrono::seconds(*rc::gen::inRange(0, 20)),
                 std::chrono::seconds(*rc::gen::inRange(0, 5)));
    event.peak = *rc::gen::inRange(0, 4) / 4.0;
    store.put_later(event);
    all.push_back(event);
  }
  RC_ASSERT(catalog->flush());
  EventQuery query;
  query.least_peak = *rc::gen::inRange(0, 3) / 4.0;
  if (*rc::gen::arbitrary<bool>()) query.cameras = {{named("cog"), named("anvil")}};
  if (*rc::gen::arbitrary<bool>()) query.from = at(std::chrono::seconds(*rc::gen::inRange(0, 25)));
  query.limit = static_cast<std::size_t>(*rc::gen::inRange(1, 8));

  std::vector<std::int64_t> wanted;
  std::ranges::sort(all, [](const Event& a, const Event& b) {
    return std::pair(b.start, b.id) < std::pair(a.start, a.id);
  });
  for (const Event& event : all) {
    if (event.peak < query.least_peak) continue;
    if (query.cameras && event.camera == named("bobbin")) continue;
    if (query.from && event.end < *query.from) continue;
    wanted.push_back(event.id);
  }
  std::vector<std::int64_t> got;
  for (;;) {
    const EventPage page = store.page(query).value();
    for (const Event& event : page.events) got.push_back(event.id);
    if (!page.next) break;
    query.before = page.next;
  }
  RC_ASSERT(got == wanted);
}

TEST(EventJson, AnEventOfNoPlaceNamesNone) {
  Event event = event_of(1, "anvil", 0s);
  EXPECT_EQ(event_json(event).at("where").as_string(), "left");
  event.region = {};  // as a job's, whose sign is of the whole
  EXPECT_EQ(event_json(event).at("where").as_string(), "");
}

}  // namespace
}  // namespace rookery::archive
