#include "camera/board_stamp.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using base::Microseconds;

TEST(BoardStamp, IsSecondsAndUpToSixDecimals) {
  EXPECT_EQ(parse_stamp("12.345678"), Microseconds(12'345'678));
  EXPECT_EQ(parse_stamp("12.5"), Microseconds(12'500'000));
  EXPECT_EQ(parse_stamp("12"), Microseconds(12'000'000));
  EXPECT_EQ(parse_stamp("0.000001"), Microseconds(1));
  EXPECT_EQ(parse_stamp("7.0000019"), Microseconds(7'000'001));
}

TEST(BoardStamp, AnythingElseIsNone) {
  for (const char* text : {"", "-1", "-0.5", "12,5", "abc", "1.2.3", "1 ", " 1", "99999999999999999999",
                           "4000000000", "1e3", "0x10"}) {
    EXPECT_FALSE(parse_stamp(text)) << text;
  }
}

TEST(BoardStamp, StandsInTheHeaderOfAPart) {
  proto::PartHeaders headers;
  EXPECT_FALSE(stamp_of(headers));
  headers.fields = {{"Content-Type", "image/jpeg"}, {"x-timestamp", "3.000250"}};
  EXPECT_EQ(stamp_of(headers), Microseconds(3'000'250));
}

}  // namespace
}  // namespace rookery::camera
