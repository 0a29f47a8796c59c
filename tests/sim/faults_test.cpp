#include "sim/faults.h"

#include <gtest/gtest.h>

#include "sim/encoder.h"
#include "sim_support.h"

namespace rookery::sim {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

base::WallTime at(double s) {
  return base::WallTime(base::Microseconds(1'772'366'400'000'000 + static_cast<std::int64_t>(s * 1e6)));
}

TEST(Faults, EveryNameIsReadBack) {
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    const auto fault = static_cast<Fault>(i);
    EXPECT_EQ(fault_named(name_of(fault)), fault);
  }
  EXPECT_EQ(fault_named("no such"), std::nullopt);
}

TruthEvent fault_event(double start, double end, std::string what, double strength) {
  return TruthEvent{at(start), at(end), TruthKind::fault, std::move(what), {}, strength, {}};
}

TEST(Faults, ScheduleRepeatsAndTruthSaysWhen) {
  Faults faults;
  // Steps come in between; the truth has the scheduled moments.
  faults.schedule(Fault::supply_sag, milliseconds(1700), milliseconds(1100), 0.35, seconds(10));
  std::vector<double> on;
  for (int i = 0; i < 30; ++i) {
    const ActiveFaults active = faults.step(at(i));
    if (active.has(Fault::supply_sag)) on.push_back(i);
  }
  EXPECT_EQ(on, (std::vector<double>{2, 12, 22}));
  const std::vector<TruthEvent> truth = faults.truth();
  ASSERT_EQ(truth.size(), 3U);
  EXPECT_EQ(truth[1], fault_event(11.7, 12.8, "supply-sag", 0.35));
}

TEST(Faults, TheTruthNeedsNoViewer) {
  Faults faults;
  faults.schedule(Fault::mains_bands, seconds(2), seconds(3), 0.1);
  for (int i = 0; i < 40; ++i) (void)faults.look(at(i * 0.1));
  EXPECT_EQ(faults.truth(), std::vector{fault_event(2, 3.9, "mains-bands", 0.1)});  // it goes on
  for (int i = 40; i < 80; ++i) (void)faults.look(at(i * 0.1));
  EXPECT_EQ(faults.truth(), std::vector{fault_event(2, 5, "mains-bands", 0.1)});
}

TEST(Faults, ADeeperSagInsideAnotherIsAnEventOfItsOwn) {
  Faults faults;
  faults.schedule(Fault::supply_sag, seconds(1), seconds(6), 0.3);
  faults.schedule(Fault::supply_sag, seconds(3), seconds(2), 0.7);
  for (int i = 0; i < 100; ++i) (void)faults.look(at(i * 0.1));
  const std::vector<TruthEvent> truth = faults.truth();
  ASSERT_EQ(truth.size(), 3U);
  EXPECT_EQ(truth[0].start, at(1));
  EXPECT_EQ(truth[1], fault_event(3, 5, "supply-sag", 0.7));
  EXPECT_EQ(truth[2].end, at(7));
  EXPECT_EQ(truth[2].strength, 0.3);
}

TEST(Faults, ARandomOneSpoilsOneFrame) {
  Faults faults;
  faults.once(Fault::truncated, 0.4);
  (void)faults.step(at(1));
  (void)faults.look(at(1.05));
  (void)faults.step(at(1.1));
  (void)faults.step(at(1.2));
  EXPECT_EQ(faults.truth(), std::vector{fault_event(1, 1.1, "truncated", 0.4)});
}

TEST(Faults, OnceIsOneStepAndTurningOffEnds) {
  Faults faults;
  faults.once(Fault::truncated, 0.3);
  EXPECT_EQ(faults.step(at(0)).strength(Fault::truncated), 0.3);
  EXPECT_FALSE(faults.step(at(1)).has(Fault::truncated));
  faults.turn_on(Fault::blur);
  EXPECT_TRUE(faults.step(at(2)).has(Fault::blur));
  EXPECT_TRUE(faults.step(at(3)).changes_picture());
  faults.turn_off(Fault::blur);
  EXPECT_FALSE(faults.step(at(4)).has(Fault::blur));
}

TEST(Faults, ABrownOutThatWasActedOnWaitsForItsNextTurn) {
  Faults faults;
  faults.schedule(Fault::brown_out, seconds(1), seconds(3), 2.5, seconds(10));
  (void)faults.step(at(0));
  EXPECT_TRUE(faults.step(at(1)).has(Fault::brown_out));
  faults.done(Fault::brown_out, at(1));
  EXPECT_FALSE(faults.step(at(2)).has(Fault::brown_out));
  EXPECT_TRUE(faults.step(at(11)).has(Fault::brown_out));
}

TEST(Faults, ChanceIsSeeded) {
  const auto run = [](std::uint64_t seed) {
    Faults faults(seed);
    faults.at_random(Fault::no_soi, 0.2, 1);
    std::string hits;
    for (int i = 0; i < 200; ++i) hits += faults.step(at(i)).has(Fault::no_soi) ? '1' : '0';
    return hits;
  };
  EXPECT_EQ(run(5), run(5));
  EXPECT_NE(run(5), run(6));
  const std::string hits = run(5);
  EXPECT_GT(std::count(hits.begin(), hits.end(), '1'), 15);
}

ActiveFaults only(Fault fault, double strength) {
  ActiveFaults active;
  active.set(fault, strength);
  return active;
}

TEST(DamageBytes, DoesWhatEachFaultSays) {
  const Bytes whole = test::grey_jpeg(160, 120, 90);
  EXPECT_EQ(damage_bytes(whole, {}), whole);
  const Bytes cut = damage_bytes(whole, only(Fault::truncated, 0.5));
  EXPECT_LT(cut->size(), whole->size());
  EXPECT_TRUE(std::equal(cut->begin(), cut->end(), whole->begin()));
  EXPECT_NE(std::vector<std::uint8_t>(cut->end() - 2, cut->end()), (std::vector<std::uint8_t>{0xFF, 0xD9}));
  const Bytes headless = damage_bytes(whole, only(Fault::no_soi, 1));
  EXPECT_EQ(std::vector<std::uint8_t>(whole->begin() + 2, whole->end()), *headless);
  const Bytes grey = damage_bytes(whole, only(Fault::grey_fill, 0.5));
  EXPECT_EQ(std::vector<std::uint8_t>(grey->end() - 2, grey->end()), (std::vector<std::uint8_t>{0xFF, 0xD9}));
  EXPECT_LT(grey->size(), whole->size());
}

TEST(Radio, KeepsItsRateBetweenLosses) {
  Radio radio(3, 400);
  base::MonoTime now{};
  base::MonoTime first = now;
  std::size_t sent = 0;
  bool lost = false;
  while (sent < 500'000) {
    const base::Microseconds wait = radio.delay_for(1436, now);
    lost = lost || wait > milliseconds(190);
    now += wait;
    sent += 1436;
  }
  const double took = std::chrono::duration<double>(now - first).count();
  // 50 000 bytes a second at best; losses only lengthen it.
  EXPECT_GE(took, 9.8);
  EXPECT_LE(took, 30);
  EXPECT_TRUE(lost);
}

}  // namespace
}  // namespace rookery::sim
