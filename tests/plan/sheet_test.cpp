#include "plan/sheet.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace rookery::plan {
namespace {

Sheet sheet_of(PlanSection section) {
  const CameraPlan camera(std::move(section), *base::CameraName::parse("anvil"),
                          "http://192.0.2.10:7420/#/camera/anvil");
  auto sheet = make_sheet(camera);
  EXPECT_TRUE(sheet) << sheet.error().text();
  return *sheet;
}

PlanSection supply(std::string regulator) {
  PlanSection out;
  out.sums["supply"] = {{"source", regulator == "none" ? "charger" : "supply-24"},
                        {"regulator", std::move(regulator)},
                        {"length", "1 m"},
                        {"size", "0.5 mm2"}};
  return out;
}

std::string all_steps(const Sheet& sheet) {
  std::string out;
  for (const SheetList& list : sheet.lists) {
    for (const SheetStep& step : list.steps) out += step.text + "\n";
  }
  return out;
}

std::string letters(const Sheet& sheet) {
  std::string out;
  for (const SheetWire& wire : sheet.wires) out += wire.letter;
  return out;
}

std::string all_cautions(const Sheet& sheet) {
  std::string out;
  for (const Note& note : sheet.cautions) out += note.text + "\n";
  return out;
}

TEST(Sheet, TheSetPointComesBeforeTheBoardAndTheProofAfterTheFirmware) {
  const Sheet sheet = sheet_of(supply("buck-40"));
  EXPECT_EQ(letters(sheet), "ABCDEFGH");
  std::vector<std::string> titles;
  for (const SheetList& list : sheet.lists) titles.push_back(list.title);
  EXPECT_EQ(titles, (std::vector<std::string>{"Set point", "Firmware", "Proof", "Enclosure"}));
  EXPECT_NE(all_steps(sheet).find("until the output shows 5.20 V"), std::string::npos);
}

// A board behind a bad contact still reads more than its regulator needs while it streams, and falls at the
// transmit peak: what is to be read is what a board as planned reads at its worst.
TEST(Sheet, TheReadingUnderLoadIsThatOfABoardAsPlanned) {
  const Sheet sheet = sheet_of(supply("buck-40"));
  const Figure& pin = sheet.sums.front().answer.figure("pin-reading");
  EXPECT_LT(pin.spread->low, sheet.sums.front().answer.figure("pin-streaming").spread->low)
      << "a sound board that streams at its most is not sent back";
  const std::string least = show_value(pin.spread->low, Kind::voltage);
  EXPECT_NE(all_steps(sheet).find("at least " + least), std::string::npos) << all_steps(sheet);
  EXPECT_GT(pin.spread->low, sheet.sums.front().answer.limit("pin").bound + 0.1);
}

TEST(Sheet, ASourceOfFiveVoltsHasNoSetPointButIsMeasuredUnderLoad) {
  const Sheet sheet = sheet_of(supply("none"));
  EXPECT_EQ(letters(sheet), "CDEFGH");
  EXPECT_EQ(sheet.lists.front().title, "Firmware");
  EXPECT_NE(all_steps(sheet).find("While it streams, lamp off, measure"), std::string::npos);
}

TEST(Sheet, WithoutASupplyNothingIsDrawnThatFeedsTheBoard) {
  PlanSection section;
  section.sums["wire"] = {{"current", "0.5 A"}, {"length", "1 m"}, {"size", "0.5 mm2"}};
  const Sheet sheet = sheet_of(section);
  EXPECT_EQ(letters(sheet), "EFGH");
  EXPECT_NE(all_steps(sheet).find("its supply is not in this plan"), std::string::npos);
  EXPECT_NE(all_cautions(sheet).find("carry mains voltage"), std::string::npos);
  EXPECT_NE(to_html(sheet, "2026-03-01").find("The supply is not in this plan"), std::string::npos);
}

TEST(Sheet, ACapacitorIsInTableAndDrawingWithItsPolarity) {
  PlanSection section = supply("buck-40");
  section.sums["capacitor"] = {{"step", "0.3 A"}, {"duration", "0.5 ms"}, {"allowed", "0.2 V"}};
  const Sheet sheet = sheet_of(section);
  EXPECT_EQ(letters(sheet), "ABCDKEFGH");
  EXPECT_NE(all_cautions(sheet).find("wrong way round"), std::string::npos);
}

TEST(Sheet, OnlyTheWireIntoTheChipIsToldOfItsVoltage) {
  const Sheet sheet = sheet_of(supply("buck-40"));
  for (const SheetWire& wire : sheet.wires) {
    EXPECT_EQ(wire.note.find("3.3 V") != std::string::npos, wire.letter == "E") << wire.letter;
  }
}

TEST(Sheet, KeysOfNetworksAreNowhere) {
  PlanSection section = supply("buck-40");
  section.settings.insert_or_assign("key", "loud secret");
  const Sheet sheet = sheet_of(section);
  EXPECT_EQ(to_html(sheet, "2026-03-01").find("loud secret"), std::string::npos);
}

}  // namespace
}  // namespace rookery::plan
