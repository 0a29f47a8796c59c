// Radio against published numbers: Bianchi's model as ns-3 publishes it, and the rates of IEEE 802.11.
#include <gtest/gtest.h>

#include <array>
#include <vector>

#include "plan/contention.h"
#include "plan/radio.h"
#include "plan/radio_load.h"

namespace rookery::plan {
namespace {

// A frame of the model: 1500 B, header and check sum 28 B, 6 B of the layer above; acknowledgements of 14 B;
// a collision takes the frame and a DIFS.
double saturation_mbps(int senders, double data_mbps, double ack_mbps) {
  const Seconds data = legacy_frame_time(1534_B, data_mbps);
  const Seconds success = data + kSifs + legacy_frame_time(14_B, ack_mbps) + kDifs;
  return exchanges_carried(senders, success, data + kDifs).value() * 1500 * 8 / 1e6;
}

struct Published {
  int senders;
  double at_54;  // acknowledgements at 24 Mb/s
  double at_6;   // acknowledgements at 6 Mb/s
};

// Source: ns-3, src/wifi/examples/reference/bianchi_11g_difs.txt (after Bianchi, IEEE JSAC 2000; W = 16, m =
// 6). Its own root stands on a grid of 10 000 points, which lies up to 0.23 % beside the exact one (at 45
// senders; within 0.08 % at 5, 10, 20 and 50): with that grid the sum gives its very digits.
TEST(RadioPublished, SaturationIsThatOfTheReferenceSums) {
  for (const Published& row : std::vector<Published>{{5, 29.8324, 4.7087},
                                                     {10, 28.1519, 4.3453},
                                                     {15, 27.0948, 4.1397},
                                                     {20, 26.2925, 3.9899},
                                                     {25, 25.6896, 3.8802},
                                                     {30, 25.1434, 3.7824},
                                                     {35, 24.6539, 3.6961},
                                                     {40, 24.2613, 3.6276},
                                                     {45, 23.9353, 3.5712},
                                                     {50, 23.5618, 3.5071}}) {
    const int n = row.senders;
    const double within = n == 5 || n == 10 || n == 20 || n == 50 ? 0.0008 : 0.0025;
    EXPECT_NEAR(saturation_mbps(n, 54, 24) / row.at_54, 1, within) << n;
    EXPECT_NEAR(saturation_mbps(n, 6, 6) / row.at_6, 1, within) << n;
  }
}

// Source: IEEE 802.11 (HT20, one stream): Mb/s with the long and the short guard, bits a symbol; least
// sensitivity in dBm (IEEE 802.11-2016 table 19-23; the table's number from memory). A symbol takes 4 µs, or
// 3.6, so the rates follow from the bits.
TEST(RadioPublished, RatesOfIeee80211) {
  constexpr std::array kLong = {6.5, 13.0, 19.5, 26.0, 39.0, 52.0, 58.5, 65.0};
  constexpr std::array kShort = {7.2, 14.4, 21.7, 28.9, 43.3, 57.8, 65.0, 72.2};
  constexpr std::array kBits = {26, 52, 78, 104, 156, 208, 234, 260};
  constexpr std::array kSensitivity = {-82, -79, -77, -74, -70, -66, -65, -64};
  ASSERT_EQ(ht_rates().size(), kLong.size());
  for (std::size_t i = 0; i < kLong.size(); ++i) {
    const HtRate& rate = ht_rates()[i];
    EXPECT_EQ(rate.mcs, static_cast<int>(i));
    EXPECT_EQ(rate.mbps(Guard::long_guard), kLong[i]);
    EXPECT_EQ(rate.mbps(Guard::short_guard), kShort[i]);
    EXPECT_NEAR(rate.bits_a_symbol / 4.0, kLong[i], 1e-9);
    EXPECT_NEAR(rate.bits_a_symbol / 3.6, kShort[i], 0.05);
    EXPECT_EQ(rate.bits_a_symbol, kBits[i]);
    EXPECT_EQ(rate.sensitivity.dbm, kSensitivity[i]);
  }
}

// Published by the chip maker for one board: TCP 20 Mb/s in the open.
TEST(RadioPublished, OneBoardsCeiling) { EXPECT_DOUBLE_EQ(8 * kBoardCeiling.value(), 20e6); }

}  // namespace
}  // namespace rookery::plan
