#include "plan/settings_file.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::plan {
namespace {

CameraPlan camera(std::map<std::string, std::string, std::less<>> settings) {
  PlanSection section;
  section.settings = std::move(settings);
  return {section, *base::CameraName::parse("anvil"), "http://192.0.2.10:7420/#/camera/anvil"};
}

std::string filled(std::string_view text, std::map<std::string, std::string, std::less<>> settings) {
  const auto out = fill_settings(text, camera(std::move(settings)), "board.h");
  EXPECT_TRUE(out) << out.error().text();
  return out ? *out : std::string();
}

base::Error refused(std::string_view text, std::map<std::string, std::string, std::less<>> settings) {
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
  EXPECT_EQ(
      filled("{{#lamp}}lamp{{/lamp}}{{^mirror}}no mirror{{/mirror}}", {{"lamp", "yes"}, {"mirror", "no"}}),
      "lampno mirror");
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
