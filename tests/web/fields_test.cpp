#include "web/fields.h"

#include <gtest/gtest.h>

#include "web/socket_words.h"

namespace rookery::web {
namespace {

Fields of(std::string_view text) { return Fields::parse(text, "thing").value(); }

// What finish() says after `take`; empty when all is well.
template <class Take>
std::string fault(std::string_view text, Take take) {
  Fields fields = of(text);
  take(fields);
  const auto all = fields.finish();
  return all ? "" : all.error().detail;
}

TEST(Fields, ReadsWhatItIsAskedFor) {
  Fields fields =
      of(R"({"t":"x","n":5,"f":5.0,"d":0.25,"b":true,"at":"2026-03-01T12:00:00Z","z":null,"l":["a"]})");
  EXPECT_EQ(fields.text("t"), "x");
  EXPECT_EQ(fields.integer("n", 0, 9), 5);
  EXPECT_EQ(fields.integer("f", 0, 9), 5);
  EXPECT_EQ(fields.number("d", 0, 1), 0.25);
  EXPECT_TRUE(fields.boolean("b"));
  EXPECT_EQ(base::to_rfc3339(fields.time("at")), "2026-03-01T12:00:00.000Z");
  const auto null = fields.maybe_integer_or_null("z", 0, 1);
  EXPECT_TRUE(null && !*null);
  EXPECT_EQ(fields.maybe_names_or_null("l"), std::optional(std::optional(std::set<std::string>{"a"})));
  EXPECT_EQ(fields.maybe_text("missing"), std::nullopt);
  EXPECT_TRUE(fields.finish());
}

TEST(Fields, NamesWhatIsUnknownMissingOrOfTheWrongType) {
  EXPECT_EQ(fault(R"({"a":"x","zz":1})", [](Fields& f) { f.text("a"); }),
            "\"zz\" is not a member that may stand here");
  EXPECT_EQ(fault("{}", [](Fields& f) { f.text("a"); }), "\"a\" is missing");
  EXPECT_EQ(fault(R"({"a":5})", [](Fields& f) { f.text("a"); }), "\"a\" must be text, but is a number");
  EXPECT_EQ(fault(R"({"a":"5"})", [](Fields& f) { f.integer("a", 0, 9); }),
            "\"a\" must be a whole number from 0 to 9, but is text");
  EXPECT_EQ(fault(R"({"a":10})", [](Fields& f) { f.integer("a", 0, 9); }),
            "\"a\" must be a whole number from 0 to 9, but is 10");
  EXPECT_EQ(fault(R"({"a":1.5})", [](Fields& f) { f.integer("a", 0, 9); }),
            "\"a\" must be a whole number from 0 to 9, but is 1.5");
  EXPECT_EQ(fault(R"({"a":1e300})", [](Fields& f) { f.integer("a", 0, 9); }),
            "\"a\" must be a whole number from 0 to 9, but is 1e+300");
  EXPECT_EQ(fault(R"({"a":null})", [](Fields& f) { f.boolean("a"); }),
            "\"a\" must be true or false, but is null");
  EXPECT_EQ(fault(R"({"a":["x",1]})", [](Fields& f) { f.maybe_names_or_null("a"); }),
            "\"a\" must be a list of names or null, but is a number");
  EXPECT_EQ(fault(R"({"a":"noon"})", [](Fields& f) { f.time("a"); }), "\"noon\" is not a time");
}

TEST(Fields, TextThatIsNoObjectIsRefused) {
  for (const char* text : {"", "[]", "5", "{", "{\"a\":1}x", "\"a\"", "{'a':1}", "{\"a\":\"\xff\"}"}) {
    const auto fields = Fields::parse(text, "thing");
    ASSERT_FALSE(fields) << text;
    EXPECT_EQ(fields.error().code, base::ErrorCode::malformed) << text;
  }
  EXPECT_FALSE(Fields::parse(std::string(10'000, '['), "thing"));
}

TEST(PageWord, IsReadStrictly) {
  const auto show = read_page_word(R"({"do":"show","cameras":[{"camera":"anvil","slot":1,"width_px":320}]})");
  ASSERT_TRUE(show);
  EXPECT_EQ(std::get<Show>(*show).cameras.at(0).camera, "anvil");
  const auto ack = read_page_word(R"({"do":"ack","serial":4294967295})");
  ASSERT_TRUE(ack);
  EXPECT_EQ(std::get<Acknowledge>(*ack).serial, 4294967295U);
  const auto play = read_page_word(
      R"({"do":"play","slot":900,"camera":"anvil","at":"2026-03-01T12:00:00.000Z","speed":-0.25,"width_px":1280})");
  ASSERT_TRUE(play);
  EXPECT_EQ(std::get<Play>(*play).speed, -0.25);
}

TEST(PageWord, SaysWhatIsWrong) {
  const auto detail = [](std::string_view text) {
    const auto word = read_page_word(text);
    EXPECT_FALSE(word) << text;
    return word ? std::string() : word.error().detail;
  };
  EXPECT_EQ(detail(R"({"do":"dance"})"), "\"do\" is \"dance\"");
  EXPECT_EQ(detail(R"({"do":"ack"})"), "\"serial\" is missing");
  EXPECT_EQ(detail(R"({"do":"step","slot":1,"frames":0})"), "\"frames\" is 0");
  EXPECT_EQ(detail(R"({"do":"pause","slot":70000})"),
            "\"slot\" must be a whole number from 0 to 65535, but is 70000");
  EXPECT_EQ(
      detail(
          R"({"do":"show","cameras":[{"camera":"a","slot":1,"width_px":1},{"camera":"b","slot":1,"width_px":1}]})"),
      "slot 1 stands there twice");
  EXPECT_EQ(
      detail(R"({"do":"play","slot":1,"camera":"a","at":"2026-03-01T12:00:00Z","speed":0,"width_px":1})"),
      "\"speed\" is 0");
  EXPECT_EQ(read_page_word("[]").error().code, base::ErrorCode::malformed);
  EXPECT_EQ(read_page_word(R"({"do":1})").error().code, base::ErrorCode::invalid_value);
}

TEST(PictureHead, IsBigEndianAndTwentyBytes) {
  const camera::Frame frame({}, base::WallTime(base::Microseconds(0x0102030405060708)), {}, 1, {640, 480});
  const PictureHead head = picture_head(PictureKind::playback, 0x0304, 0xa1b2c3d4, frame);
  const PictureHead expected = {1, 2, 3, 4, 0xa1, 0xb2, 0xc3, 0xd4, 1,    2,
                                3, 4, 5, 6, 7,    8,    0x02, 0x80, 0x01, 0xe0};
  EXPECT_EQ(head, expected);
}

}  // namespace
}  // namespace rookery::web
