#include "plan/supply.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "plan/subject.h"
#include "plan/unit_text.h"
#include "plan/wire.h"

namespace rookery::plan {
namespace {

// Computed from the formula (so it checks the arithmetic): REFERENCE 2.
TEST(Supply, MeanOfARadioThatTransmitsAFifthOfTheTime) {
  EXPECT_NEAR(mean_radio_current(240_mA, 100_mA, 0.2).value(), 0.128, 1e-9);
}

TEST(Supply, VoltagesAlongTheChain) {
  const Chain chain{5.2_V, 0.2_ohm, 0.1_ohm, 0.03_ohm, {}};
  const Points points = points_at(chain, 0.5_A);
  EXPECT_NEAR(points.pin.value(), 5.05, 1e-9);
  EXPECT_NEAR(points.rail.value(), 3.3, 1e-9);
  EXPECT_NEAR(points.chip.value(), 3.3 - 0.03 * 0.489, 1e-9);
}

RC_GTEST_PROP(Supply, EachSetPointOfTheRangeKeepsThePinInItsLimitsAndNoOther, ()) {
  const SetPointBounds bounds{.pin_least = 4.7_V,
                              .pin_most = 5.5_V,
                              .current_most = Amperes::from_value(*rc::gen::inRange(1, 800) * 1e-3),
                              .path_most = Ohms::from_value(*rc::gen::inRange(0, 1000) * 1e-3),
                              .spread = *rc::gen::inRange(0, 50) * 1e-3};
  const SetPointRange range = set_points(bounds);
  const auto lowest = [&](Volts set) {
    return set * (1 - bounds.spread) - bounds.path_most * bounds.current_most;
  };
  const auto highest = [&](Volts set) { return set * (1 + bounds.spread); };
  RC_ASSERT(lowest(range.least + 1_mV) > bounds.pin_least);
  RC_ASSERT(lowest(range.least - 1_mV) < bounds.pin_least);
  RC_ASSERT(highest(range.most - 1_mV) < bounds.pin_most);
  RC_ASSERT(highest(range.most + 1_mV) > bounds.pin_most);
}

RC_GTEST_PROP(Supply, MoreCurrentOrMoreResistanceNeverLeavesMoreVolts, ()) {
  const auto some = [](int most) { return *rc::gen::inRange(0, most) * 1e-3; };
  const Chain chain{Volts::from_value(3 + some(3000)),
                    Ohms::from_value(some(2000)),
                    Ohms::from_value(some(200)),
                    Ohms::from_value(some(100)),
                    {}};
  Chain worse = chain;
  worse.wire += Ohms::from_value(some(1000));
  const auto current = Amperes::from_value(some(1000));
  const Points points = points_at(chain, current);
  const Points less = points_at(worse, current + Amperes::from_value(some(1000)));
  RC_ASSERT(less.pin <= points.pin && less.rail <= points.rail && less.chip <= points.chip);
  RC_ASSERT(points.pin >= points.rail && points.rail >= points.chip && less.chip >= 0_V);
}

TEST(Supply, BrownOutLevelsRise) {
  for (int level = 1; level < kBrownOutLevels; ++level)
    EXPECT_GT(brown_out_threshold(level), brown_out_threshold(level - 1));
}

base::Result<Planned> planned(std::vector<Given> changes) {
  std::vector<Given> given = example_of(*find_subject("supply"));
  for (Given& change : changes) {
    std::erase_if(given, [&](const Given& one) { return one.key == change.key; });
    given.push_back(std::move(change));
  }
  return plan(*find_subject("supply"), given);
}

Answer answer(std::vector<Given> changes) {
  auto out = planned(std::move(changes));
  EXPECT_TRUE(out) << out.error().text();
  return out ? out->answer : Answer{};
}

base::Error error(std::vector<Given> changes) {
  const auto out = planned(std::move(changes));
  EXPECT_FALSE(out);
  return out ? base::Error() : out.error();
}

// The fields' words and the values that their reasons name are the same.
TEST(SupplySubject, ItsFieldsAgreeWithTheValuesBehindThem) {
  const auto field = [](std::string_view key) {
    const auto fields = find_subject("supply")->fields;
    return *std::find_if(fields.begin(), fields.end(), [&](const Field& one) { return one.key == key; });
  };
  const auto read = [](std::string_view text, Kind kind) { return read_value(text, kind, "field").value(); };
  EXPECT_EQ(read(field("board-most").most, Kind::voltage), regulator_1117::kInputMost.value());
  EXPECT_EQ(read(field("linear-heat-resistance").least, Kind::heat_resistance),
            regulator_1117::kJunctionToCase.value());
  EXPECT_EQ(read(field("linear-heat-resistance").preset, Kind::heat_resistance),
            regulator_1117::kJunctionToAirMost.value());
  EXPECT_NEAR(read(field("others").preset, Kind::current),
              (190_mA - mean_radio_current(240_mA, 100_mA, 0.2)).value(), 1e-9);
  EXPECT_NEAR(read(field("lamp-current").preset, Kind::current), (440_mA - 190_mA).value(), 1e-9);
}

TEST(SupplySubject, TheUsualSetPointIsAGoodChoiceForTheUsualBoard) {
  const Answer usual = answer({});
  EXPECT_EQ(usual.verdict(), Verdict::holds) << usual.headline;
  EXPECT_LT(usual.figure("set-least").value, 5.2);
  EXPECT_GT(usual.figure("set-most").value, 5.2);
  EXPECT_NEAR(usual.figure("set-best").value, 5.2, 0.05);
}

TEST(SupplySubject, FiveVoltsAtTheEndOfAThinWireAreNotEnoughAndItSaysWhy) {
  const std::vector<Given> thin = {{"size", "26 AWG"}, {"lamp", "never"}, {"set-point", "5.0 V"}};
  const Answer five = answer(thin);
  EXPECT_EQ(five.verdict(), Verdict::fails);
  const Limit& pin = five.limit("pin");
  EXPECT_EQ(pin.verdict, Verdict::fails);
  EXPECT_EQ(five.nearest_limit()->key, "pin");
  EXPECT_NE(pin.remedy.find("Set the regulator to 5."), std::string::npos) << pin.remedy;
  EXPECT_NE(answer({{"size", "26 AWG"}, {"lamp", "never"}, {"set-point", "5.2 V"}}).verdict(),
            Verdict::fails);
}

// What the answer says of the worst case is what the answer of that very case says.
TEST(SupplySubject, TheLeastSetPointIsWhereThePinJustHolds) {
  const double least = answer({}).figure("set-least").value;
  const auto at = [](double volts) { return answer({{"set-point", fmt::format("{:.4f} V", volts)}}); };
  // Rounded to the side that holds, by less than the last digit told.
  EXPECT_GE(at(least).figure("pin-peak-lamp").spread->low, 4.699);
  EXPECT_NEAR(at(least).figure("pin-peak-lamp").spread->low, 4.699, 0.01);
  EXPECT_NE(at(least).limit("pin").label.find("worst case"), std::string::npos);
  EXPECT_EQ(at(least - 0.01).limit("pin").verdict, Verdict::tight);
  const double most = answer({}).figure("set-most").value;
  EXPECT_GE(at(most).limit("pin-most").margin(), 0);
  EXPECT_NE(at(most + 0.01).limit("pin-most").verdict, Verdict::holds);
}

TEST(SupplySubject, TheLongestWireIsWhereThePinJustHolds) {
  const double longest = answer({}).figure("longest").value;
  const Answer at = answer({{"length", fmt::format("{:.5f} m", longest)}});
  EXPECT_GE(at.figure("pin-peak-lamp").spread->low, 4.699);
  EXPECT_NEAR(at.figure("pin-peak-lamp").spread->low, 4.699, 0.0005);
}

TEST(SupplySubject, EveryVoltageShowsTheWorstCaseAndWhereMostBoardsLie) {
  const Answer usual = answer({});
  for (const std::string_view mode : {"rest", "streaming", "lamp", "peak", "peak-lamp"}) {
    for (const std::string_view point : {"pin", "chip"}) {
      const Figure& figure = usual.figure(fmt::format("{}-{}", point, mode));
      ASSERT_TRUE(figure.spread && figure.spread->p5 && figure.spread->p95) << figure.key;
      EXPECT_LT(figure.spread->low, *figure.spread->p5);
      EXPECT_LT(*figure.spread->p5, *figure.spread->p95);
      EXPECT_LT(*figure.spread->p95, figure.spread->high);
    }
  }
}

TEST(SupplySubject, ARegulatorThatTheSourceWouldDestroyIsRefused) {
  const base::Error refused = error({{"regulator", "buck-23"}});
  EXPECT_EQ(refused.where, "supply: regulator");
  EXPECT_NE(refused.detail.find("destroyed"), std::string::npos);
  EXPECT_EQ(refused.remedy, "choose regulator=buck-40 or buck-28");
  EXPECT_EQ(answer({{"regulator", "buck-23"}, {"source", "supply-12"}}).limit("input").verdict,
            Verdict::holds);
}

TEST(SupplySubject, LittleMarginAtTheInputIsAWarning) {
  EXPECT_EQ(answer({{"regulator", "buck-28"}}).limit("input").verdict, Verdict::tight);
  EXPECT_EQ(error({{"regulator", "buck-28"}, {"source-voltage", "26 V"}}).where, "supply: regulator");
}

TEST(SupplySubject, ASetPointAboveTheBoardsLimitIsRefusedWithTheReason) {
  const base::Error refused = error({{"set-point", "6 V"}});
  EXPECT_EQ(refused.where, "supply: set-point");
  EXPECT_NE(refused.detail.find("more than the 5.50 V"), std::string::npos) << refused.detail;
}

TEST(SupplySubject, WhatDoesNotGoTogetherIsRefusedWithWhatToChange) {
  EXPECT_EQ(error({{"regulator", "none"}}).where, "supply: regulator");   // 24 V into the board
  EXPECT_EQ(error({{"source", "usb-port"}}).where, "supply: regulator");  // a buck does not step up
  EXPECT_EQ(error({{"source", "usb-port"}, {"regulator", "none"}, {"set-point", "5.2 V"}}).where,
            "supply: set-point");
  EXPECT_EQ(error({{"source", "other"}}).where, "supply: source-voltage");
  EXPECT_EQ(error({{"source-least", "25 V"}}).where, "supply: source-least");
  EXPECT_EQ(error({{"streaming", "2 A"}}).where, "supply: streaming");
  EXPECT_EQ(error({{"set-point", "0 V"}}).code, base::ErrorCode::invalid_value);
  EXPECT_EQ(error({{"set-point", "-5 V"}}).code, base::ErrorCode::invalid_value);
  EXPECT_EQ(error({{"length", "5 V"}}).code, base::ErrorCode::invalid_value);
}

TEST(SupplySubject, AUsbPortIsHeldAgainstWhatItMayGive) {
  const std::vector<Given> port = {
      {"source", "usb-low-power"}, {"regulator", "none"}, {"size", "24 AWG"}, {"length", "1 m"}};
  const Answer weak = answer(port);
  EXPECT_EQ(weak.limit("source-current").verdict, Verdict::fails);
  EXPECT_NEAR(weak.limit("source-current").bound, 0.1, 1e-9);
  // 4.40 V, less 121 mA through two metres of 24 AWG (0.111 Ω/m, flexible, at 40 °C) and 120 mΩ.
  EXPECT_NEAR(weak.figure("pin-rest").spread->low, 4.40 - 0.121 * (2 * 0.1113 + 0.12), 0.001);
  EXPECT_EQ(weak.limit("usb-drop").verdict, Verdict::holds);
  const Answer long_cable =
      answer({{"source", "charger"}, {"regulator", "none"}, {"size", "28 AWG"}, {"length", "2 m"}});
  EXPECT_EQ(long_cable.limit("usb-drop").verdict, Verdict::fails);
}

TEST(SupplySubject, ALampThatStaysLitHeatsTheBoardsRegulator) {
  EXPECT_EQ(answer({}).limit("linear-junction").verdict, Verdict::holds);
  // 300 mA of a board that streams at its most and 250 mA of its lamp, at 5.13 V and 90 K/W: 134 °C. With the
  // 190 mA that were measured it is tight, and on much copper it holds.
  EXPECT_EQ(answer({{"lamp", "steady"}}).limit("linear-junction").verdict, Verdict::fails);
  EXPECT_EQ(answer({{"lamp", "steady"}, {"streaming-most", "190 mA"}}).limit("linear-junction").verdict,
            Verdict::tight);
  EXPECT_EQ(
      answer({{"lamp", "steady"}, {"linear-heat-resistance", "46 K/W"}}).limit("linear-junction").verdict,
      Verdict::holds);
}

// 190 mA were measured; what is held against heat, fuse and source is what the module may take all the time.
TEST(SupplySubject, HeatFuseAndSourceAreThoseOfABoardThatStreamsAtItsMost) {
  const Answer usual = answer({{"lamp", "never"}});
  EXPECT_NEAR(usual.figure("source-current").value,
              answer({{"lamp", "never"}, {"streaming", "300 mA"}}).figure("source-current").value, 1e-9);
  // The voltages are those of a board as usual: what a meter shows while it streams.
  EXPECT_GT(usual.figure("pin-streaming").value,
            answer({{"lamp", "never"}, {"streaming", "300 mA"}}).figure("pin-streaming").value);
  // Whoever measured a board has one value.
  EXPECT_LT(answer({{"lamp", "never"}, {"streaming", "190 mA"}}).figure("source-current").value,
            usual.figure("source-current").value);
  EXPECT_EQ(error({{"streaming-most", "150 mA"}}).where, "supply: streaming-most");
}

TEST(SupplySubject, TheWireFromTheSourceIsInTheSum) {
  const std::vector<Given> many = {{"source", "supply-12"},
                                   {"boards", "3"},
                                   {"lamp", "never"},
                                   {"feed-length", "10 m"},
                                   {"feed-size", "1 mm2"}};
  const Answer feed = answer(many);
  // 3 · 430 mA · 5.2 V / 0.75 through 20 m of 19.5 mΩ/m at 40 °C and the fuse's 100 mΩ.
  const double path = 20 * 0.0195 * 1.0786 + 0.1;
  const double power = 3 * 0.43 * 5.2 / 0.75;
  EXPECT_NEAR(feed.figure("regulator-input").value, (12 + std::sqrt(144 - 4 * path * power)) / 2, 1e-6);
  EXPECT_EQ(feed.limit("regulator-input").verdict, Verdict::holds);
  // The same through a hair: what it takes cannot come through it.
  std::vector<Given> thin = many;
  thin.back().text = "28 AWG";
  const Answer starved = answer(thin);
  EXPECT_EQ(starved.limit("regulator-input").verdict, Verdict::fails);
  EXPECT_EQ(starved.limit("fuse-source").verdict, Verdict::fails);
  EXPECT_EQ(starved.verdict(), Verdict::fails);
  // A single board gets its wire assumed, and told.
  const auto usual = planned({});
  ASSERT_TRUE(usual);
  const auto entries = usual->values.entries();
  EXPECT_TRUE(std::any_of(entries.begin(), entries.end(), [](const Values::Entry& entry) {
    return entry.field->key == "feed-size" && entry.assumed && !entry.field->why.empty();
  }));
}

TEST(SupplySubject, TheFuseAtTheSourceIsHeldAgainstItsOwnWire) {
  const Answer thin = answer({{"boards", "4"}, {"feed-size", "0.05 mm2"}, {"feed-length", "10 cm"}});
  EXPECT_EQ(thin.limit("fuse-source").verdict, Verdict::fails);
  EXPECT_NEAR(thin.limit("fuse-source").value, thin.figure("fuse-source").value, 1e-9);
  EXPECT_NEAR(thin.limit("fuse-source").bound, largest_fuse(0.05_mm2).value(), 1e-9);
}

TEST(SupplySubject, WhichLimitEndsTheSetPointsIsSaid) {
  EXPECT_EQ(answer({}).figure("set-most").note, "ended by the board's pin asleep");
  const Answer hot = answer({{"lamp", "steady"}, {"streaming-most", "230 mA"}, {"temperature", "25 C"}});
  EXPECT_EQ(hot.figure("set-most").note, "ended by the heat in the board's regulator");
  EXPECT_NE(hot.headline.find("(the heat in the board's regulator) hold in the worst case"),
            std::string::npos)
      << hot.headline;
  const Answer none = answer({{"lamp", "steady"}});
  EXPECT_NE(none.headline.find("no set point holds in the worst case"), std::string::npos) << none.headline;
}

TEST(SupplySubject, WhatIsNotKnownOfAKindIsNotMadeUp) {
  const Answer other = answer({{"regulator", "buck-28"}});
  for (const std::string_view key : {"turn", "turns-left", "r2", "ripple-current", "ripple-voltage"}) {
    EXPECT_TRUE(std::none_of(other.figures.begin(), other.figures.end(), [&](const Figure& figure) {
      return figure.key == key;
    })) << key;
  }
  EXPECT_TRUE(std::any_of(other.notes.begin(), other.notes.end(), [](const Note& note) {
    return note.caution && note.text.find("not known for this kind") != std::string::npos;
  }));
  const Answer read_off = answer({{"regulator", "buck-28"},
                                  {"r1", "10 kohm"},
                                  {"trimmer", "100 kohm"},
                                  {"turns", "1"},
                                  {"inductance", "10 uH"},
                                  {"output-capacitor", "22 uF"},
                                  {"output-esr", "5 mohm"}});
  EXPECT_NEAR(read_off.figure("turn").value, 8, 1e-9);
  EXPECT_GT(read_off.figure("ripple-voltage").value, 0);
}

TEST(SupplySubject, ASourceOfUnknownKindMayHaveMainsInside) {
  const Answer other = answer({{"source", "other"}, {"source-voltage", "19 V"}});
  EXPECT_TRUE(std::any_of(other.notes.begin(), other.notes.end(), [](const Note& note) {
    return note.caution && note.text.find("mains voltage") != std::string::npos;
  }));
}

TEST(SupplySubject, ItsLongestCableIsThatOfUsb) {
  const Answer cable =
      answer({{"source", "charger"}, {"regulator", "none"}, {"size", "28 AWG"}, {"length", "0.5 m"}});
  const auto usb = plan(*find_subject("usb"), example_of(*find_subject("usb")));
  ASSERT_TRUE(usb);
  const Figure& longest = usb->answer.figure("longest-cable");
  bool found = false;
  for (const Table& table : cable.tables) {
    for (const auto& row : table.rows) {
      if (row.front() != "28 AWG") continue;
      EXPECT_EQ(row.back(), show_value(longest.value, longest.kind));
      found = true;
    }
  }
  EXPECT_TRUE(found);
}

TEST(SupplySubject, ItSaysThatAWrongTurnDestroysTheBoard) {
  const Answer usual = answer({});
  EXPECT_NEAR(usual.figure("turn").value, 1.49, 0.005);
  const bool said = std::any_of(usual.notes.begin(), usual.notes.end(), [](const Note& note) {
    return note.caution && note.text.find("A wrong turn destroys the board") != std::string::npos &&
           note.text.find("1.49 V") != std::string::npos;
  });
  EXPECT_TRUE(said);
}

}  // namespace
}  // namespace rookery::plan
