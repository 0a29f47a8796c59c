#include "base/markup.h"

#include <gtest/gtest.h>

namespace rookery::base {
namespace {

TEST(Markup, WhatMeansSomethingToXmlIsAnEntity) {
  EXPECT_EQ(escaped(R"(<b a="1">Tom & 'Eve'</b>)"),
            "&lt;b a=&quot;1&quot;&gt;Tom &amp; &#39;Eve&#39;&lt;/b&gt;");
}

TEST(Markup, ControlCharactersAreLeftOutAndOtherAlphabetsPass) {
  EXPECT_EQ(escaped(std::string_view("a\x01\x1b[31m\0b\n\tc", 12)), "a[31mb\n\tc");
  EXPECT_EQ(escaped("Größe 1 µm → ∞"), "Größe 1 µm → ∞");
}

}  // namespace
}  // namespace rookery::base
