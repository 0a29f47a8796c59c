// rookery causes, as scripts and people need it.
#include <gtest/gtest.h>

#include "archive/dropout_store.h"
#include "tests/cli/rookery_program.h"

namespace rookery::test {
namespace {

using namespace std::chrono_literals;

class CausesCommand : public testing::Test {
 protected:
  void SetUp() override { ASSERT_EQ(home_.run({"camera", "add", "anvil", "--pushed"}).exit_code, 0); }
  void put(std::chrono::minutes ago) {
    auto catalog = archive::Catalog::open(home_.path()).value();
    archive::DropoutStore store(*catalog);
    archive::Dropout dropout(base::CameraName::parse("anvil").value());
    dropout.began = base::SystemClock().wall() - ago;
    dropout.back = dropout.began + 7600ms;
    dropout.ranking.named = camera::Cause::supply;
    dropout.ranking.verdict = "supply (93 %; next hang or heat 6 %)";
    dropout.ranking.remedy = "Check plug and wires.";
    dropout.ranking.evidence = {"The old connection was reset 7.0 s after the gap began"};
    store.put_later(dropout);
    ASSERT_TRUE(catalog->flush());
  }
  Home home_;
};

TEST_F(CausesCommand, TellsVerdictEvidenceAndRemedyTheNewestFirst) {
  put(20min);
  put(10min);
  const auto told = home_.run({"causes", "anvil"});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  EXPECT_NE(told.out.find("for 7.6 s  supply (93 %"), std::string::npos) << told.out;
  EXPECT_NE(told.out.find("- The old connection was reset 7.0 s"), std::string::npos) << told.out;
  EXPECT_NE(told.out.find("What to do: Check plug and wires."), std::string::npos) << told.out;
  EXPECT_NE(told.out.find("In the last 30 days: 2 dropouts, 2 supply."), std::string::npos) << told.out;
}

TEST_F(CausesCommand, WithoutDropoutsSaysSo) {
  const auto told = home_.run({"causes", "anvil"});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  EXPECT_NE(told.out.find("anvil: In the last 30 days: 0 dropouts."), std::string::npos) << told.out;
}

TEST_F(CausesCommand, ACameraThatIsNotThereIsBadUse) { EXPECT_EQ(home_.run({"causes", "cog"}).exit_code, 2); }

}  // namespace
}  // namespace rookery::test
