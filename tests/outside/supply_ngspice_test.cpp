// The supply chain, the regulator's ripple and the capacitor's sag against ngspice, which solves the same
// circuits from their parts and knows nothing of our formulas.
#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <map>

#include <fmt/format.h>

#include "plan/buck.h"
#include "plan/capacitor.h"
#include "plan/linear_regulator.h"
#include "plan/supply.h"
#include "plan/wire.h"
#include "tests/support/needs.h"
#include "tests/support/program.h"
#include "tests/support/temp_folder.h"

namespace rookery::plan {
namespace {

// Runs a circuit, and reads each "name = number" that it prints.
std::map<std::string, double> solved(const std::string& circuit) {
  const test::TempFolder folder;
  const auto file = folder.path() / "circuit.cir";
  std::ofstream(file) << circuit;
  const test::Ended ended = test::run_program({"ngspice", "-b", file.string()});
  std::map<std::string, double> out;
  std::istringstream lines(ended.out);
  for (std::string line; std::getline(lines, line);) {
    const std::size_t equals = line.find('=');
    if (equals == std::string::npos) continue;
    std::string name = line.substr(0, equals);
    name.erase(name.find_last_not_of(' ') + 1);
    name.erase(0, name.find_first_not_of(' '));
    char* end = nullptr;
    const double value = std::strtod(line.c_str() + equals + 1, &end);
    if (end != line.c_str() + equals + 1) out.emplace(name, value);
  }
  EXPECT_EQ(ended.exit_code, 0) << ended.out << ended.err;
  return out;
}

double read(const std::map<std::string, double>& values, const std::string& name) {
  const auto at = values.find(name);
  EXPECT_NE(at, values.end()) << "ngspice did not print " << name;
  return at == values.end() ? 0 : at->second;
}

class SupplyNgspice : public testing::Test {
 protected:
  void SetUp() override { ROOKERY_NEEDS_PROGRAM("ngspice", "ngspice"); }
};

// From 24 V through an averaged buck regulator, a conductor with two contacts each way, the board's regulator
// (a source that gives 3.3 V or what is left of its input, and takes from its input what it gives and its own
// current) to the chip.
std::string chain_circuit(const Chain& chain, Amperes current, double efficiency) {
  const double contact = chain.contacts.value() / 4;
  return fmt::format(
      R"(supply chain
Vin src 0 24
Vset feed 0 {feed}
Bin src 0 I = V(feed) * (-I(Vset)) / ({efficiency} * V(src))
Rc1 feed a {contact}
Rw1 a b {wire}
Rc2 b pin {contact}
Rc3 ground c {contact}
Rw2 c d {wire}
Rc4 d 0 {contact}
Iown pin ground {own}
Brail rail0 ground V = min({output}, V(pin,ground) - {dropout})
Vpass rail0 rail 0
Fpass pin ground Vpass 1
Rtrack rail chip {track}
Iload chip ground {load}
.control
op
let at_pin = v(pin) - v(ground)
let at_rail = v(rail) - v(ground)
let at_chip = v(chip) - v(ground)
let taken = -i(Vin)
let heat = at_pin * ({own} + i(Vpass)) - at_rail * i(Vpass)
print at_pin at_rail at_chip taken heat
quit 0
.endc
.end
)",
      fmt::arg("feed", chain.feed.value()), fmt::arg("efficiency", efficiency), fmt::arg("contact", contact),
      fmt::arg("wire", chain.wire.value() / 2), fmt::arg("own", chain.regulator.quiescent.value()),
      fmt::arg("output", chain.regulator.output.value()),
      fmt::arg("dropout", chain.regulator.dropout.value()), fmt::arg("track", chain.rail_path.value()),
      fmt::arg("load", (current - chain.regulator.quiescent).value()));
}

void expect_same_chain(const Chain& chain, Amperes current) {
  SCOPED_TRACE(fmt::format("{} V, {} Ω, {} A", chain.feed.value(), chain.path().value(), current.value()));
  constexpr double kEfficiency = 0.75;
  const auto theirs = solved(chain_circuit(chain, current, kEfficiency));
  const Points ours = points_at(chain, current);
  EXPECT_NEAR(ours.pin.value() / read(theirs, "at_pin"), 1, 0.01);
  // What is lost on the way is small beside the voltage: held by itself.
  EXPECT_NEAR((chain.feed - ours.pin).value() / (chain.feed.value() - read(theirs, "at_pin")), 1, 0.01);
  EXPECT_NEAR(ours.rail.value() / read(theirs, "at_rail"), 1, 0.01);
  EXPECT_NEAR(ours.chip.value() / read(theirs, "at_chip"), 1, 0.01);
  EXPECT_NEAR((ours.rail - ours.chip).value() / (read(theirs, "at_rail") - read(theirs, "at_chip")), 1, 0.01);
  EXPECT_NEAR(input_current(chain.feed, current, 24_V, kEfficiency).value() / read(theirs, "taken"), 1, 0.01);
  EXPECT_NEAR(heat_of(chain.regulator, ours.pin, current).value() / read(theirs, "heat"), 1, 0.01);
}

TEST_F(SupplyNgspice, OperatingPointsOfTheChain) {
  const Ohms good = loop_resistance(0.5_mm2, 2_m, Strands::flexible, 40_C);
  const Ohms thin = loop_resistance(SquareMetres::from_value(0.081e-6), 3_m, Strands::flexible, 40_C);
  for (const Amperes& current : {110_mA, 190_mA, 440_mA, 680_mA})
    expect_same_chain({5.2_V, good, 0.06_ohm, 0.03_ohm, {}}, current);
  // In dropout the rail follows its input.
  for (const Amperes& current : {110_mA, 430_mA, 680_mA})
    expect_same_chain({5.0_V, thin, 0.06_ohm, 0.03_ohm, {}}, current);
}

// 24 V to 5 V with an ideal switch, an ideal diode (a second switch in counter-phase), 33 µH and 220 µF with
// 0.1 Ω, from near its rest to its rest.
TEST_F(SupplyNgspice, RippleOfAnIdealBuckRegulator) {
  const double share = duty(24_V, 5_V, {});
  const auto theirs =
      solved(fmt::format(R"(buck regulator
Vin in 0 24
Vgate g 0 PULSE(0 1 0 1n 1n {on} {period})
S1 in sw g 0 SW
S2 sw 0 0 g SWN
.model SW SW(Ron=1u Roff=1meg Vt=0.5)
.model SWN SW(Ron=1u Roff=1meg Vt=-0.5)
L1 sw out 33u IC=0.5
C1 out esr 220u IC=5
Resr esr 0 0.1
Iload out 0 1
.tran 10n 3m 2.9m 10n UIC
.control
run
meas tran highest MAX i(L1)
meas tran lowest MIN i(L1)
meas tran top MAX v(out)
meas tran bottom MIN v(out)
quit 0
.endc
.end
)",
                         fmt::arg("on", share / 150e3 - 1e-9), fmt::arg("period", 1 / 150e3)));
  const Amperes ripple = ripple_current(inductor_volt_seconds(24_V, 5_V, {}, 150_kHz), 33_uH);
  EXPECT_NEAR(ripple.value() / (read(theirs, "highest") - read(theirs, "lowest")), 1, 0.02);
  // Ours adds the two parts, which do not peak together: no less than theirs, and not much more.
  const OutputRipple out = output_ripple(ripple, 150_kHz, 220_uF, 0.1_ohm);
  const double swing = read(theirs, "top") - read(theirs, "bottom");
  EXPECT_GE(out.together().value(), swing * 0.99);
  EXPECT_LE(out.resistance.value(), swing * 1.02);
  EXPECT_LE(out.together().value(), swing * 1.06);
}

// A capacitor with its resistance, charged to 5.2 V and fed through `path`, and a step of current for a
// while. Gives the lowest voltage.
double lowest_voltage(LoadStep step, Farads capacitance, Ohms esr, Ohms path) {
  const double last = step.duration.value();
  const auto theirs = solved(fmt::format(
      R"(load step
Vsupply feed 0 5.2
Rpath feed pin {path}
C1 pin esr {capacitance} IC=5.2
Resr esr 0 {esr}
Istep pin 0 PULSE(0 {current} {before} 1n 1n {duration} 1)
.tran {tick} {end} 0 {tick} UIC
.control
run
meas tran lowest MIN v(pin)
quit 0
.endc
.end
)",
      fmt::arg("path", path.value()), fmt::arg("capacitance", capacitance.value()),
      fmt::arg("esr", esr.value()), fmt::arg("current", step.current.value()), fmt::arg("before", last / 10),
      fmt::arg("duration", last), fmt::arg("tick", last / 2000), fmt::arg("end", 1.5 * last)));
  return read(theirs, "lowest");
}

TEST_F(SupplyNgspice, SagOfACapacitorOnItsOwn) {
  const Ohms nothing_comes = 1000_kohm;
  for (const LoadStep& step : {LoadStep{0.3_A, Seconds::from_value(0.0005)}, LoadStep{0.5_A, 0.2_ms}}) {
    const double fall = 5.2 - lowest_voltage(step, 470_uF, 0.1_ohm, nothing_comes);
    EXPECT_NEAR(sag(step, 470_uF, 0.1_ohm).value() / fall, 1, 0.02);
  }
}

TEST_F(SupplyNgspice, SagOfACapacitorThatTheSupplyFeedsMeanwhile) {
  for (const Ohms& path : {0.2_ohm, 1_ohm}) {
    const LoadStep step{0.3_A, 1_ms};
    const double fall = 5.2 - lowest_voltage(step, 470_uF, 0.1_ohm, path);
    EXPECT_NEAR(sag_with_supply(step.current, step.duration, 470_uF, 0.1_ohm, path).value() / fall, 1, 0.02);
  }
}

}  // namespace
}  // namespace rookery::plan
