// Like answers, like program: what is hashed, and when two are alike.
#include "camera/fingerprint.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

net::HttpHead head(int status, const std::vector<std::string>& names) {
  net::HttpHead out;
  out.status = status;
  for (const std::string& name : names) out.fields.push_back({name, "x"});
  return out;
}

// FNV-1a, 64 bit, of "200" 0xff "A" 0xff, worked out with another program (python3, from the authors'
// formula).
TEST(Fingerprint, IsThePublishedHashOfStatusAndNames) {
  EXPECT_EQ(fingerprint_of(Answered::still, head(200, {"A"})), "still:3d8cb76225f930ee");
}

TEST(Fingerprint, ValuesDoNotCountNamesTheirOrderAndTheStatusDo) {
  const auto one = head(200, {"Content-Type", "X-Frame"});
  auto values = one;
  values.fields[0].value = "another";
  EXPECT_EQ(fingerprint_of(Answered::stream, one), fingerprint_of(Answered::stream, values));
  EXPECT_NE(fingerprint_of(Answered::stream, one),
            fingerprint_of(Answered::stream, head(200, {"X-Frame", "Content-Type"})));
  EXPECT_NE(fingerprint_of(Answered::stream, one),
            fingerprint_of(Answered::stream, head(200, {"Content-TypeX-Frame"})));
  EXPECT_NE(fingerprint_of(Answered::page, one),
            fingerprint_of(Answered::page, head(404, {"Content-Type", "X-Frame"})));
}

TEST(Fingerprint, WhatIsKnownOfBothKindsComparesByWhatBothHave) {
  const std::string both = with_fingerprint("stream:b", "still:a");
  EXPECT_EQ(both, "still:a stream:b");
  EXPECT_TRUE(is_alike(both, "stream:b"));
  EXPECT_TRUE(is_alike("still:a", both));
  EXPECT_FALSE(is_alike(both, "still:a stream:c"));
  EXPECT_FALSE(is_alike("still:a", "stream:b")) << "nothing in common says nothing";
  EXPECT_FALSE(is_alike("", ""));
  EXPECT_FALSE(is_alike("0123456789abcdef", "0123456789abcdef")) << "what has no kind is not known";
}

TEST(Fingerprint, AnotherProgramOnTheBoardDropsWhatWasKnown) {
  EXPECT_EQ(with_fingerprint("still:a stream:b", "stream:c"), "stream:c");
  EXPECT_EQ(with_fingerprint("still:a stream:b", ""), "still:a stream:b");
  EXPECT_EQ(with_fingerprint("0123456789abcdef", "stream:c"), "stream:c");
}

}  // namespace
}  // namespace rookery::camera
