// What nests too deep is told before a parser meets it, and nothing else is.
#include "base/toml_depth.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <toml++/toml.h>

#include <string>

namespace rookery::base {
namespace {

std::string times(std::string_view part, std::size_t count) {
  std::string out;
  for (; count > 0; --count) out += part;
  return out;
}

TEST(TomlDepth, EachWayToNestIsSeen) {
  for (const std::string_view part : {"[", "{a=", "{a.b = [", "[{", "{\"a\" = "}) {
    EXPECT_EQ(too_deep_line("\n# [[[\nx = " + times(part, 40'000)), 3U) << part;
  }
  for (const std::string_view part : {"a.", "\"a\".", "a . ", "'['."}) {
    for (const std::string_view front : {"", "[", "[[", "x = {", "x = [1, {"}) {
      EXPECT_EQ(too_deep_line("x=1\n" + std::string(front) + times(part, 40'000)), 2U) << front << part;
    }
  }
}

TEST(TomlDepth, WhatPeopleWriteIsNotDeep) {
  EXPECT_EQ(too_deep_line(""), std::nullopt);
  EXPECT_EQ(too_deep_line(times("[camera.wire.a.b]\nlength = 1.5\n[[camera]]\n", 5000)), std::nullopt);
  EXPECT_EQ(too_deep_line("key = \"" + times("[.", 5000) + "\"\n"), std::nullopt);
  EXPECT_EQ(too_deep_line("key = '" + times("{.", 5000) + "'\n"), std::nullopt);
  EXPECT_EQ(too_deep_line("key = \"\"\"\n" + times("[.\"\\\"\n", 5000) + "\"\"\"\"\"\nb = [[1], [2]]"),
            std::nullopt);
  EXPECT_EQ(too_deep_line("# " + times("[.", 5000)), std::nullopt);
  EXPECT_EQ(too_deep_line("x = [" + times("[1.5], {a.b = 1}, ", 5000) + "]"), std::nullopt);
  EXPECT_EQ(too_deep_line("key = \"a\\\\\"\n" + times("a = '''\n.'''\n", 100) + times("[", 17)), 202U);
}

std::size_t depth_of(const toml::node& node) {
  std::size_t deepest = 0;
  const auto look = [&](const toml::node& one) { deepest = std::max(deepest, depth_of(one)); };
  if (const toml::table* table = node.as_table()) {
    for (const auto& [key, value] : *table) look(value);
  }
  if (const toml::array* list = node.as_array()) {
    for (const toml::node& value : *list) look(value);
  }
  return deepest + 1;
}

// Pieces that strings, comments, keys and brackets are made of, in any order: what the parser takes and the
// scan let pass is never deeper than a header, and a key at each bracket, can make it.
RC_GTEST_PROP(TomlDepth, WhatItLetsPassIsNotDeep, ()) {
  const std::vector<std::string> pieces = {"[",
                                           "]",
                                           "{",
                                           "}",
                                           "a",
                                           ".",
                                           "=",
                                           "\"",
                                           "'",
                                           "\n",
                                           "\"\"\"",
                                           "'''",
                                           "\\",
                                           "#",
                                           "a=1\n",
                                           "[a.a]\n",
                                           ",",
                                           "1",
                                           " ",
                                           "a.a.a.a.a.a.a.a.a.a.a.a.",
                                           "x=[[[[[[[[[[[[",
                                           "={a="};
  std::string text;
  for (int i = *rc::gen::inRange(0, 60); i > 0; --i) text += *rc::gen::elementOf(pieces);
  if (too_deep_line(text)) return;
  try {
    RC_ASSERT(depth_of(toml::parse(text)) <= 2 * kDeepestToml + kDeepestToml * (kDeepestToml + 1) + 2);
  } catch (const toml::parse_error&) {
  }
}

}  // namespace
}  // namespace rookery::base
