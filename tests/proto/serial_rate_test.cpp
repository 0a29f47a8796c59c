#include <gtest/gtest.h>
#include <rapidcheck.h>

#include "proto/boot_log.h"
#include "tests/proto/boot_log_support.h"
#include "tests/proto/uart_line.h"

namespace rookery::proto {
namespace {

using test::BadStop;

const std::string kLog = test::kPowerOn + test::kServing + test::kPanic;

std::string repeated(const std::string& text, int times) {
  std::string out;
  for (int i = 0; i < times; ++i) out += text;
  return out;
}

RateVerdict judge(std::string_view bytes) {
  RateJudge judge;
  judge.push(bytes);
  return judge.verdict();
}

TEST(UartLine, AtTheSameRateWhatWasSentIsRead) {
  for (const Baud rate : kUsualRates) {
    EXPECT_EQ(test::received(test::levels_of(kLog), rate, rate), kLog);
    EXPECT_EQ(test::received(test::levels_of(kLog, 7), rate, rate), kLog);
  }
}

TEST(UartLine, TwoPerCentOffIsStillRead) {
  EXPECT_EQ(test::received(test::levels_of(kLog), {115200}, {117500}), kLog);
}

// 80 kB of log, as one of half a minute: at 9600 of 921600 bits a second the receiver sees a byte in 100.
TEST(SerialRate, BetweenAllPairsOfUsualRatesGarbageIsRecognised) {
  const std::string log = repeated(kLog, 60);
  for (const std::size_t idle : {0, 3}) {
    const auto levels = test::levels_of(log, idle);
    for (const Baud sent : kUsualRates) {
      for (const Baud read : kUsualRates) {
        for (const BadStop bad : {BadStop::kept, BadStop::nul}) {
          RateJudge judge;
          bool ever_text = false;
          RateVerdict verdict = RateVerdict::too_little;
          for (const char byte : test::received(levels, sent, read, bad, 1000)) {
            judge.push(std::string_view(&byte, 1));
            verdict = judge.verdict();
            if (verdict == RateVerdict::garbage) break;
            ever_text = ever_text || verdict == RateVerdict::text;
          }
          const bool same = sent == read;
          EXPECT_EQ(name_of(verdict), same ? "text" : "garbage")
              << sent.bits_per_s << " read at " << read.bits_per_s << " after " << judge.bytes();
          EXPECT_EQ(ever_text, same) << sent.bits_per_s << " read at " << read.bits_per_s;
        }
      }
    }
  }
}

TEST(SerialRate, GarbageOfAnyTextIsNeverCalledText) {
  EXPECT_TRUE(rc::check([] {
    const auto words = *rc::gen::container<std::vector<std::string>>(rc::gen::container<std::string>(
        rc::gen::map(rc::gen::inRange(0x20, 0x7f), [](int c) { return static_cast<char>(c); })));
    std::string text;
    for (const std::string& word : words) text += word + "\r\n";
    const Baud sent = *rc::gen::elementOf(kUsualRates);
    const Baud read = *rc::gen::elementOf(kUsualRates);
    RC_PRE(!(sent == read));
    RC_ASSERT(judge(test::received(test::levels_of(text), sent, read)) != RateVerdict::text);
  }));
}

TEST(SerialRate, RealTextIsNeverCalledGarbage) {
  EXPECT_NE(judge(kLog), RateVerdict::garbage);
  EXPECT_EQ(judge(repeated("Straße, Brücke, Öl; 温度 42 °C\r\n", 9)), RateVerdict::text);
  EXPECT_TRUE(rc::check([] {
    auto text = *rc::gen::container<std::string>(rc::gen::weightedOneOf<char>(
        {{20, rc::gen::map(rc::gen::inRange(0x20, 0x7f), [](int c) { return static_cast<char>(c); })},
         {2, rc::gen::element('\r', '\n', '\t', '\x1b')}}));
    // A start in mid-byte, and a glitch of power-on.
    const auto junk = *rc::gen::inRange<std::size_t>(0, 6);
    text.insert(0, std::string(junk, '\xF8'));
    RC_ASSERT(judge(text) != RateVerdict::garbage);
  }));
}

TEST(SerialRate, AFewBytesDecideNothing) {
  EXPECT_EQ(judge(""), RateVerdict::too_little);
  EXPECT_EQ(judge("rst:0x1 (POWERON"), RateVerdict::too_little);
  EXPECT_EQ(judge(std::string("\x00\xF8\x80\x00", 4)), RateVerdict::too_little);
  EXPECT_EQ(judge(repeated(".", 500)), RateVerdict::too_little) << "one pattern may be anything";
}

TEST(RateSearch, FindsTheRateOfALineThatIsHeardAtAnother) {
  for (const Baud sent : kUsualRates) {
    const auto levels = test::levels_of(repeated(kLog, 20), 1);
    RateSearch search;
    std::string text;
    int tries = 0;
    for (; tries < 10; ++tries) {
      const Baud read = search.rate();
      const auto step = search.push(test::received(levels, sent, read));
      text += step.text;
      if (!step.go_to) break;
      EXPECT_EQ(step.text, "") << "garbage handed out at " << read.bits_per_s;
    }
    EXPECT_EQ(search.rate(), sent);
    EXPECT_EQ(search.verdict(), RateVerdict::text);
    EXPECT_EQ(text, repeated(kLog, 20));
  }
}

TEST(RateSearch, GoesOnWhenAProgramChangesTheRate) {
  RateSearch search;
  EXPECT_EQ(search.push(kLog).text, kLog);
  const auto step = search.push(test::received(test::levels_of(kLog), {74880}, {115200}));
  EXPECT_EQ(step.go_to, Baud{74880});
  EXPECT_TRUE(step.restart);
  EXPECT_LT(step.text.size(), 100U);
  EXPECT_EQ(search.push(kLog).text, kLog);
}

TEST(RateSearch, AGivenRateIsKeptAndShowsTextAtOnce) {
  RateSearch search(Baud{9600});
  EXPECT_EQ(search.push("rst").text, "rst");
  const auto step = search.push(std::string(200, '\xF0'));
  EXPECT_FALSE(step.go_to);
  EXPECT_EQ(search.verdict(), RateVerdict::garbage);
  EXPECT_EQ(search.push("no").text, "") << "what follows garbage is held back";
  EXPECT_EQ(search.rate(), Baud{9600});
}

TEST(RateSearch, AShortTextIsHandedOutAtTheEnd) {
  RateSearch search;
  EXPECT_EQ(search.push("waiting for download\r\n").text, "");
  EXPECT_EQ(search.finish(), "waiting for download\r\n");
  RateSearch noise;
  EXPECT_EQ(noise.push("wai\xFFting\r\n").text, "");
  EXPECT_EQ(noise.finish(), "");
}

TEST(RateSearch, WhenNoRateMakesTextOfItAllWereTried) {
  RateSearch search;
  for (std::size_t i = 0; i < kUsualRates.size(); ++i) search.push(std::string(100, '\0'));
  EXPECT_EQ(search.refused(), kUsualRates.size());
  EXPECT_EQ(search.rate(), kUsualRates[0]);
}

}  // namespace
}  // namespace rookery::proto
