#include "plan/settings_file.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <kainjow/mustache.hpp>

#include "plan/settings_tags.h"

namespace rookery::plan {
namespace {

CameraPlan camera(Settings settings) {
  PlanSection section;
  section.settings = std::move(settings);
  return {section, *base::CameraName::parse("anvil"), "http://192.0.2.10:7420/#/camera/anvil"};
}

std::string filled(std::string_view text, Settings settings) {
  const auto out = fill_settings(text, camera(std::move(settings)), "board.h");
  EXPECT_TRUE(out) << out.error().text();
  return out ? *out : std::string();
}

base::Error refused(std::string_view text, Settings settings) {
  const auto out = fill_settings(text, camera(std::move(settings)), "board.h");
  EXPECT_FALSE(out) << *out;
  return out ? base::Error() : out.error();
}

TEST(SettingsFile, IsFilledWithNameNetworkAndPins) {
  EXPECT_EQ(filled("#define NAME \"{{name}}\"\n#define NETWORK \"{{network}}\"\n#define LED {{{led}}}\n",
                   {{"network", "hall"}, {"led", "4"}}),
            "#define NAME \"anvil\"\n#define NETWORK \"hall\"\n#define LED 4\n");
}

TEST(SettingsFile, AQuoteOrABackslashInAKeyCannotBreakTheSource) {
  EXPECT_EQ(filled("\"{{key}}\"", {{"key", R"(a"; system("x"); //\)"}}), R"("a\"; system(\"x\"); //\\")");
  EXPECT_EQ(filled("\"{{key}}\"", {{"key", "gr\u00fc\u00df?\?/1"}}), "\"gr\\303\\274\\303\\237\\?\\?/1\"");
}

TEST(SettingsFile, WhatWouldBreakItIsNotPutInAsItStands) {
  for (const char* tag : {"{{{key}}}", "{{&key}}", "{{=<% %>=}}<%&key%>"}) {
    const base::Error error = refused(tag, {{"key", "p\"w"}});
    EXPECT_NE(error.detail.find("key holds characters"), std::string::npos) << error.text();
    EXPECT_EQ(error.text().find("p\"w"), std::string::npos) << "the key itself must not be shown";
    EXPECT_EQ(filled(tag, {{"key", "plain-key.1"}}), "plain-key.1");
  }
}

TEST(SettingsFile, SectionsFollowWhatIsThere) {
  EXPECT_EQ(filled("{{#lamp}}lamp{{/lamp}}{{^mirror}}no mirror{{/mirror}}{{^title}}no "
                   "title{{/title}}{{#pin}}{{.}}{{/pin}}",
                   {{"lamp", Setting("true", true)},
                    {"mirror", Setting("false", false)},
                    {"title", ""},
                    {"pin", "0"}}),
            "lampno mirrorno title0");
}

TEST(SettingsFile, EveryTextComesOutAsItself) {
  for (const char* text : {"no", "false", "yes", "0", "0x10", "007", "1e3", "1_000", "hall"}) {
    EXPECT_EQ(filled("{{key}} {{{key}}} {{&key}}", {{"key", text}}),
              std::string(text) + " " + text + " " + text);
  }
  EXPECT_EQ(filled("{{on}} {{{off}}}", {{"on", Setting("true", true)}, {"off", Setting("false", false)}}),
            "true false");
}

TEST(SettingsFile, ATextThatMayMeanNoDecidesNoSection) {
  for (const char* text : {"no", "false"}) {
    for (const char* tag : {"{{#lamp}}x{{/lamp}}", "{{^lamp}}x{{/lamp}}"}) {
      const base::Error error = refused(tag, {{"lamp", text}});
      EXPECT_NE(error.text().find("has a section about lamp"), std::string::npos) << error.text();
    }
  }
}

TEST(SettingsFile, WhatIsPutInEmptyIsNamed) {
  std::vector<std::string> empty;
  const auto out = fill_settings("[{{key}}{{{key}}}{{network}}{{^title}}-{{/title}}]",
                                 camera({{"key", ""}, {"network", "hall"}, {"title", ""}, {"pin", ""}}),
                                 "board.h", &empty);
  ASSERT_TRUE(out);
  EXPECT_EQ(*out, "[hall-]");
  EXPECT_EQ(empty, std::vector<std::string>{"key"});
}

TEST(SettingsFile, ADotWithoutASectionIsNoValue) {
  for (const char* tag : {"{{.}}", "{{{.}}}", "{{&.}}", "{{#.}}x{{/.}}", "{{^off}}{{.}}{{/off}}"}) {
    const base::Error error = refused(tag, {{"off", Setting("false", false)}});
    EXPECT_NE(error.detail.find("{{.}}"), std::string::npos) << error.text();
  }
}

std::string times(std::string_view part, std::size_t count) {
  std::string out;
  for (; count > 0; --count) out += part;
  return out;
}

TEST(SettingsFile, SectionsInOneAnotherHaveALimitThatIsTold) {
  const base::Error error =
      refused("one\n{{#a}}" + times("{{# a}}", 20'000) + times("{{/a}}", 20'001), {{"a", "1"}});
  EXPECT_EQ(error.where, "board.h line 2");
  EXPECT_EQ(error.detail, "more than 16 sections stand in one another");
  EXPECT_EQ(refused("{{=<% %>=}}" + times("<%#a%>", 20'000) + times("<%/a%>", 20'000), {{"a", "1"}}).detail,
            error.detail);
  EXPECT_EQ(filled(times("{{#a}}", 16) + "x" + times("{{/a}}", 16), {{"a", "1"}}), "x");
  EXPECT_EQ(filled(times("{{#a}}x{{/a}}", 50), {{"a", "1"}}), times("x", 50));
}

TEST(SettingsFile, MistakesInTagsHaveTheirLine) {
  for (const auto& [text, says] :
       {std::pair("\n{{#a}}", "board.h line 2: the section a that begins here has no end"),
        {"\n\n{{/a}}", "board.h line 3: no section a is open"},
        {"{{#a}}\n{{/b}}", "board.h line 2: ends the section b, but a is open"},
        {"\n{{a", "board.h line 2: a tag that begins here has no end"},
        {"{{=a=}}", "board.h line 1: these are no delimiters"},
        {"{{#\x1b[31m}}", "board.h line 1: the section \\x1b[31m that"}}) {
    const base::Error error = refused(text, {{"a", "1"}, {"b", "1"}});
    EXPECT_EQ(error.code, base::ErrorCode::malformed);
    EXPECT_TRUE(error.text().starts_with(says)) << error.text();
  }
}

// The library is the judge of what a tag is: with sections marked, it finds the same ones.
RC_GTEST_PROP(SettingsFile, TheScanAndTheLibraryReadTheSameTags, ()) {
  const std::vector<std::string> pieces = {
      "{{",          "}}", "{{{", "}}}", "#a", "^a",    "/a", "{{#a}}", "{{/a}}", "{{=<% %>=}}",
      "<%={{ }}=%>", "<%", "%>",  " ",   "\n", "{{a}}", "=",  "&a",     "!",      "{{! {{#a}} }}"};
  std::string text;
  for (int i = *rc::gen::inRange(0, 25); i > 0; --i) text += *rc::gen::elementOf(pieces);
  const auto marked = mark_sections(text, "board.h");
  kainjow::mustache::mustache read{text};
  RC_ASSERT(marked.has_value() == read.is_valid());
  if (!marked) return;
  kainjow::mustache::mustache read_marked{*marked};
  RC_ASSERT(read_marked.is_valid());
  kainjow::mustache::data with_marks;
  with_marks.set(std::string(1, kSectionMark) + "a", true);
  with_marks.set("a", "v");
  kainjow::mustache::data without;
  without.set("a", "v");
  RC_ASSERT(read_marked.render(with_marks) == read.render(without));
}

TEST(SettingsFile, WhatTheTemplateAsksForMustBeThere) {
  const base::Error error = refused("{{network}} {{key}} {{name}}", {});
  EXPECT_EQ(error.detail, "asks for key, network, which anvil has no value for");
}

TEST(SettingsFile, ATemplatesOwnBracesAreNotEchoed) {
  const base::Error error = refused("struct net nets[] = {{\"hall\", \"SECRETpw\"}};", {});
  EXPECT_EQ(error.text().find("SECRET"), std::string::npos) << error.text();
}

TEST(SettingsFile, BrokenTemplatesAreRefused) {
  EXPECT_EQ(refused("{{#a}}", {{"a", "1"}}).code, base::ErrorCode::malformed);
  EXPECT_EQ(refused("{{name", {}).code, base::ErrorCode::malformed);
  EXPECT_EQ(refused("{{> other}}", {}).code, base::ErrorCode::unsupported);
  EXPECT_EQ(refused("\x01name\x02", {}).code, base::ErrorCode::malformed);
  EXPECT_EQ(refused("{{key}}", {{"key", "a\nb"}}).code, base::ErrorCode::invalid_value);
}

// Reads a string literal's inside as C does.
std::string unescaped(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '\\') {
      out += text[i];
    } else if (text[i + 1] >= '0' && text[i + 1] <= '7') {
      out += static_cast<char>((text[i + 1] - '0') * 64 + (text[i + 2] - '0') * 8 + (text[i + 3] - '0'));
      i += 3;
    } else {
      out += text[++i];
    }
  }
  return out;
}

RC_GTEST_PROP(SettingsFile, AnEscapedTextReadsBackAndHoldsNoBareQuote, (const std::string& text)) {
  const std::string escaped = c_escaped(text);
  RC_ASSERT(unescaped(escaped) == text);
  RC_ASSERT(std::all_of(escaped.begin(), escaped.end(), [](char c) { return c >= 0x20 && c < 0x7f; }));
  for (std::size_t i = 0; i < escaped.size(); ++i) {
    if (escaped[i] == '\\') {
      ++i;
    } else {
      RC_ASSERT(escaped[i] != '"');
    }
  }
}

}  // namespace
}  // namespace rookery::plan
