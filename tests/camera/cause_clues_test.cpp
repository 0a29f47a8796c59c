// Which clues count: of two that say the same, one.
#include "camera/cause_clues.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

int value(const Clues& clues, Clue clue) { return clues.at(static_cast<std::size_t>(clue)); }

TEST(CauseClues, AConnectionThatWentOnTellsOfNoRestartAndNeedsNoOther) {
  Evidence e;
  e.old_connection = OldConnection::went_on;
  e.retries = Retries::none_needed;
  e.restart = Restart::stamp_on;
  const Clues clues = clues_of(e);
  EXPECT_EQ(value(clues, Clue::old_connection), static_cast<int>(OldConnection::went_on));
  EXPECT_EQ(value(clues, Clue::retries), 0);
  EXPECT_EQ(value(clues, Clue::restart), 0);
}

TEST(CauseClues, AConnectionThatEndsByAStartSaysNoMoreThanTheClock) {
  Evidence e;
  e.old_connection = OldConnection::reset;
  e.ended_after_s = 7;
  e.restart = Restart::stamp_back;
  e.booted_after_s = 0.6;
  e.exposure = Exposure::ramp;
  EXPECT_EQ(value(clues_of(e), Clue::old_connection), 0);
  EXPECT_EQ(value(clues_of(e), Clue::exposure), 0);
  e.booted_after_s = 20;  // it ended before: something else ended it
  EXPECT_EQ(value(clues_of(e), Clue::old_connection), static_cast<int>(OldConnection::reset));
  e.restart = Restart::unknown;
  e.booted_after_s.reset();
  EXPECT_EQ(value(clues_of(e), Clue::exposure), static_cast<int>(Exposure::ramp));
}

TEST(CauseClues, EvennessIsOfRestartsOnlyAndNeedsAnother) {
  Evidence e;
  RestartPattern pattern;
  pattern.others_uptimes = 3;
  pattern.same_uptimes = 3;
  EXPECT_EQ(value(clues_of(e, pattern), Clue::evenness), 0);
  e.restart = Restart::stamp_back;
  EXPECT_EQ(value(clues_of(e, pattern), Clue::evenness), 3);
  EXPECT_EQ(value(clues_of(e), Clue::evenness), 0);
  EXPECT_EQ(value(clues_of(e, {}), Clue::evenness), 0);
  pattern.others_uptimes = pattern.same_uptimes = 1;
  EXPECT_EQ(value(clues_of(e, pattern), Clue::evenness), 2);
  pattern.same_uptimes = 0;
  EXPECT_EQ(value(clues_of(e, pattern), Clue::evenness), 1);
}

}  // namespace
}  // namespace rookery::camera
