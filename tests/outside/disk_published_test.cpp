// Disks against published numbers.
#include <gtest/gtest.h>

#include "plan/disk.h"

namespace rookery::plan {
namespace {

// Source: as quoted by others: cards made for recording, 117 to 234 TB written for each 128 GB; the low end
// decides. Class A1: 10 MB/s.
TEST(DiskPublished, CardsTakeTheLowEnd) {
  EXPECT_NEAR(endurance_card(Bytes::from_value(128e9)).value(), 117e12, 1);
  EXPECT_NEAR(endurance_card(Bytes::from_value(64e9)).value(), 58.5e12, 1);
  EXPECT_DOUBLE_EQ(kCardWriteRate.value(), 10e6);
}

// Source: the ext4 tools' own documentation: 5 % of the blocks are kept for the system.
TEST(DiskPublished, Ext4KeepsBackATwentieth) {
  EXPECT_NEAR(room_on(Bytes::from_value(1e12), {0.05, 0_B, 0_B}).value(), 950e9, 1);
}

}  // namespace
}  // namespace rookery::plan
