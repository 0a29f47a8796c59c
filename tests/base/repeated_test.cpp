#include "base/repeated.h"

#include <gtest/gtest.h>

namespace rookery::base {
namespace {

using namespace std::chrono_literals;

TEST(Repeated, ATroubleIsSaidOnceAnHourAndAnotherAtOnce) {
  Repeated repeated;
  const MonoTime start{};
  EXPECT_TRUE(repeated.is_news("the disk is full", start));
  for (auto after = 500ms; after < 1h; after += 10min)
    EXPECT_FALSE(repeated.is_news("the disk is full", start + after));
  EXPECT_TRUE(repeated.is_news("the disk is full", start + 1h));
  EXPECT_FALSE(repeated.is_news("the disk is full", start + 1h + 59min));
  EXPECT_TRUE(repeated.is_news("the disk is gone", start + 1h + 59min));
}

TEST(Repeated, WhatIsOverIsNewWhenItComesBack) {
  Repeated repeated;
  EXPECT_TRUE(repeated.is_news("full", MonoTime{}));
  repeated.clear();
  EXPECT_TRUE(repeated.is_news("full", MonoTime{} + 1s));
}

}  // namespace
}  // namespace rookery::base
