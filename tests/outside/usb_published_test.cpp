// USB against published numbers.
#include <gtest/gtest.h>

#include <vector>

#include "plan/unit_text.h"
#include "plan/usb.h"

namespace rookery::plan {
namespace {

// Source: USB 2.0, as quoted by others: the longest cable for supply conductors of a gauge, 125 mV a
// conductor (7.2.2, from memory) at 0.5 A. What we say holds for flexible copper at 40 °C, and is never more.
TEST(UsbPublished, LongestCables) {
  const std::vector<std::pair<int, double>> published = {
      {28, 0.81}, {26, 1.31}, {24, 2.08}, {22, 3.33}, {20, 5.00}};
  ASSERT_EQ(usb_cables().size(), published.size());
  for (std::size_t i = 0; i < published.size(); ++i) {
    const auto& [gauge, metres] = published[i];
    const UsbCable& cable = usb_cables()[i];
    EXPECT_EQ(cable.gauge, gauge);
    EXPECT_DOUBLE_EQ(cable.published.value(), metres);
    const auto ours = longest_usb_cable(cable.a_metre(), 0.5_A);
    ASSERT_TRUE(ours);
    EXPECT_LE(ours->value(), metres) << gauge;
    EXPECT_GT(ours->value(), metres * 0.75) << gauge;
    // The lengths leave room for contacts: copper alone loses less than 125 mV in each conductor there, and
    // with the most that a contact may have (two of 30 mΩ; from memory) no more than 2 % above it.
    const Volts copper = 0.5 *
                         loop_resistance(SquareMetres::from_value(awg_area(gauge)),
                                         Metres::from_value(metres), Strands::nominal, 20_C) *
                         0.5_A;
    EXPECT_LT(copper.value(), 0.125) << gauge;
    EXPECT_LT(copper.value() + 0.5 * 2 * 0.030, 0.125 * 1.02) << gauge;
    EXPECT_GT(copper.value() + 0.5 * 2 * 0.030, 0.125 * 0.9) << gauge;
  }
}

// Source: USB 2.0, USB 3 and battery charging 1.2, as quoted by others.
TEST(UsbPublished, PortsGive) {
  const std::vector<std::pair<double, double>> published = {
      {0.5, 4.75}, {0.9, 4.75}, {1.5, 4.75}, {0.5, 4.75}, {0.1, 4.40}};
  ASSERT_EQ(usb_ports().size(), published.size());
  for (std::size_t i = 0; i < published.size(); ++i) {
    EXPECT_DOUBLE_EQ(usb_ports()[i].most.value(), published[i].first) << usb_ports()[i].key;
    EXPECT_DOUBLE_EQ(usb_ports()[i].at_port.value(), published[i].second) << usb_ports()[i].key;
  }
}

// Source: USB 2.0, as quoted by others: a cable may delay the signal by 26 ns, at 5.2 ns a metre.
TEST(UsbPublished, TheSignalReachesFiveMetres) { EXPECT_NEAR(kUsbSignalReach.value(), 26 / 5.2, 1e-9); }

// Source: USB 2.0, as quoted by others: at most 3 × 1024 B in each 125 µs; Linux: 100 µs of it periodic.
TEST(UsbPublished, HighSpeedIsochronous) {
  EXPECT_EQ(kLargestReservation.bytes(), 3072_B);
  EXPECT_NEAR(kMicroframe.value(), 125e-6, 1e-12);
  EXPECT_NEAR(kMostPeriodic.value(), 100e-6, 1e-12);
}

}  // namespace
}  // namespace rookery::plan
