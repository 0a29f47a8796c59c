#include "base/descriptor.h"

#include <fcntl.h>
#include <gtest/gtest.h>

namespace rookery::base {
namespace {

int open_null() { return ::open("/dev/null", O_RDONLY | O_CLOEXEC); }
bool is_open(int number) { return ::fcntl(number, F_GETFD) != -1; }

TEST(Descriptor, ClosesAtItsEndAndNotBefore) {
  int number = -1;
  {
    const Descriptor one(open_null());
    ASSERT_TRUE(one);
    number = one.get();
    EXPECT_TRUE(is_open(number));
  }
  EXPECT_FALSE(is_open(number));
  EXPECT_FALSE(Descriptor());
  EXPECT_FALSE(Descriptor(-1)) << "open() that failed";
}

TEST(Descriptor, MovesAndClosesWhatItHeldAtOnce) {
  Descriptor one(open_null()), other(open_null());
  const int first = one.get(), second = other.get();
  one = std::move(other);
  EXPECT_EQ(one.get(), second);
  EXPECT_FALSE(is_open(first));
  const Descriptor moved(std::move(one));
  EXPECT_EQ(moved.get(), second);
  EXPECT_TRUE(is_open(second));
}

TEST(Descriptor, WhatWasLetGoStaysOpen) {
  int number = -1;
  {
    Descriptor one(open_null());
    number = one.let_go();
    EXPECT_FALSE(one);
  }
  EXPECT_TRUE(is_open(number));
  const Descriptor again(number);
}

}  // namespace
}  // namespace rookery::base
