#include <random>

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include "proto/serial_rate.h"
#include "tests/proto/boot_log_support.h"

namespace rookery::proto {
namespace {

using namespace test;
using std::chrono::milliseconds;

// A log with times: each text comes at its time.
BootSummary heard_at(const std::vector<std::pair<int, std::string>>& texts, int until_ms) {
  BootLog log([](const BootFinding&) {});
  BootLines lines([&log](const BootLine& line) { log.take(line); });
  for (const auto& [at_ms, text] : texts) lines.push(text, milliseconds(at_ms));
  lines.finish();
  return log.summary(milliseconds(until_ms));
}

std::vector<std::pair<int, std::string>> loop(int count, int period_ms, const std::string& text) {
  std::vector<std::pair<int, std::string>> out;
  for (int i = 0; i < count; ++i) out.emplace_back(i * period_ms, text);
  return out;
}

TEST(BootLog, ABoardThatServesSaysWhere) {
  const Heard heard = read_log(kPowerOn + kServing);
  EXPECT_EQ(heard.summary.state, BoardState::serving);
  EXPECT_TRUE(heard.summary.good);
  EXPECT_EQ(heard.summary.verdict, "started, joined, serves at http://192.0.2.17/");
  EXPECT_EQ(heard.summary.address, "http://192.0.2.17/");
  ASSERT_EQ(heard.findings.size(), 4U);
  EXPECT_EQ(heard.findings[0].line, 3U);
  EXPECT_EQ(heard.findings[0].evidence, "rst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)");
  EXPECT_EQ(heard.findings[0].words.weight, Weight::good);
}

TEST(BootLog, ProgrammingModeSaysHowToLeaveIt) {
  const Heard heard =
      read_log("rst:0x1 (POWERON_RESET),boot:0x3 (DOWNLOAD_BOOT(UART0/UART1))\r\nwaiting for download\r\n");
  EXPECT_EQ(heard.summary.verdict, "in programming mode");
  EXPECT_EQ(heard.summary.next, "Remove the programming link and press reset.");
  EXPECT_FALSE(heard.summary.good);
  EXPECT_EQ(heard.findings[0].words.next, "Remove the programming link and press reset.");
}

TEST(BootLog, ASoftwareResetBehindTheBrownOutDetectorIsABrownOut) {
  for (const char* reset : {"rst:0xc (SW_CPU_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n",
                            "rst:0x3 (SW_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n",
                            "rst:0xf (RTCWDT_BROWN_OUT_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n"}) {
    const Heard heard = read_log(kPowerOn + "\r\nBrownout detector was triggered\r\n\r\nets Jul\r\n" + reset);
    ASSERT_EQ(heard.findings.size(), 3U);
    EXPECT_NE(heard.findings[2].words.meaning.find("brown-out"), std::string::npos);
    EXPECT_NE(heard.summary.verdict.find("1 restart by brown-out"), std::string::npos)
        << heard.summary.verdict;
  }
  const Heard without = read_log(kPowerOn + kSoftware);
  EXPECT_EQ(without.findings[1].words.meaning.find("brown-out"), std::string::npos);
  // The run after the one that browned out is judged by itself.
  const Heard later = read_log("Brownout detector was triggered\r\n" + kSoftware + kSoftware);
  EXPECT_NE(later.findings[2].words.meaning.find("own program"), std::string::npos);
}

TEST(BootLog, APanicAndAnUnreadableFlashNameTheRestartsTheyCause) {
  const Heard panic = read_log(kPowerOn + kPanic + kSoftware);
  EXPECT_NE(panic.findings.back().words.meaning.find("crashed"), std::string::npos);
  const Heard flash = read_log("flash read err, 1000\r\nrst:0x10 (RTCWDT_RTC_RESET),boot:0x13 (X)\r\n");
  EXPECT_NE(flash.findings.back().words.meaning.find("could not read its program"), std::string::npos);
}

TEST(BootLog, ALoopSaysItsBeatItsReasonAndTheRemedy) {
  const auto summary = heard_at(loop(14, 2100, kSoftware + "Brownout detector was triggered\r\n"), 29000);
  EXPECT_EQ(summary.state, BoardState::looping);
  // The first start came by software: what was before it was not heard.
  EXPECT_EQ(summary.verdict, "restarts every 2.1 s by brown-out (13 starts)");
  EXPECT_EQ(summary.restarts, 13U);
  EXPECT_EQ(summary.period, milliseconds(2100));
  EXPECT_TRUE(summary.period_even);
  EXPECT_NE(summary.next.find("supply"), std::string::npos);
}

TEST(BootLog, ALoopWithTheWrongFlashVoltageNamesIt) {
  const auto summary = heard_at(
      loop(9, 400, "rst:0x10 (RTCWDT_RTC_RESET),boot:0x33 (SPI_FAST_FLASH_BOOT)\r\nflash read err, 1000\r\n"),
      3700);
  EXPECT_EQ(summary.verdict,
            "restarts every 0.4 s by unreadable flash (8 starts), with the wrong flash voltage");
  EXPECT_NE(summary.next.find("GPIO 12"), std::string::npos);
}

TEST(BootLog, ALoopInAStoredLogIsTimedByTheBoardsOwnClock) {
  std::string log;
  for (int i = 0; i < 5; ++i) log += kSoftware + "I (12) boot: x\r\nI (3040) cam: y\r\n" + kPanic;
  const Heard heard = read_log(log);
  EXPECT_EQ(heard.summary.state, BoardState::looping);
  EXPECT_EQ(heard.summary.verdict, "restarts every 3.0 s by panic (4 starts)");
}

TEST(BootLog, AStoredLoopHasEndedWhenTheBoardsOwnClockRanOn) {
  std::string log;
  for (int i = 0; i < 5; ++i) log += kSoftware + "I (12) boot: x\r\nI (3040) cam: y\r\n" + kPanic;
  log += kSoftware + "I (2000) boot: x\r\n";
  EXPECT_EQ(read_log(log).summary.state, BoardState::looping) << "up for no longer than each time before";
  log += "I (9300) cam: y\r\n";
  EXPECT_EQ(read_log(log).summary.state, BoardState::started);
}

TEST(BootLog, WhatALineSaysIsTimedByTheBoardsOwnClock) {
  std::vector<BootFinding> findings;
  BootLog boot([&findings](const BootFinding& finding) { findings.push_back(finding); });
  BootLines lines([&boot](const BootLine& line) { boot.take(line); });
  lines.push(kPowerOn + "I (3040) cam: y\r\nBrownout detector was triggered\r\n" + kPowerOn);
  ASSERT_EQ(findings.size(), 3U);
  EXPECT_FALSE(findings[0].since_boot);
  EXPECT_EQ(findings[1].since_boot, std::chrono::milliseconds(3040)) << "the last stamp before it";
  EXPECT_FALSE(findings[2].since_boot) << "its clock began anew";
}

TEST(BootLog, PressingResetIsNoLoopButAnEvenLossOfPowerIs) {
  EXPECT_EQ(
      heard_at({{0, kPowerOn}, {900, kPowerOn}, {7000, kPowerOn}, {9000, kPowerOn + kServing}}, 9500).state,
      BoardState::serving);
  EXPECT_EQ(heard_at(loop(6, 1000, kPowerOn), 5500).verdict,
            "restarts every 1.0 s by loss of power (6 starts)");
  const std::string sleep = "rst:0x5 (DEEPSLEEP_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n";
  EXPECT_EQ(heard_at(loop(6, 60000, sleep + kServing), 301000).state, BoardState::serving);
}

TEST(BootLog, ALoopThatEndedIsTold) {
  auto texts = loop(5, 2000, kSoftware + kPanic);
  texts.emplace_back(10000, kSoftware + kServing);
  const auto summary = heard_at(texts, 60000);
  EXPECT_EQ(summary.state, BoardState::serving);
  EXPECT_EQ(summary.verdict, "started, joined, serves at http://192.0.2.17/; 5 restarts by panic");
}

TEST(BootLog, AMissingCameraOutweighsAnAddress) {
  const Heard heard = read_log(kPowerOn + "Camera probe failed with error 0x105(X)\r\n" +
                               "WiFi connected\r\nhttp://192.0.2.17/\r\n");
  EXPECT_EQ(heard.summary.state, BoardState::no_camera);
  EXPECT_EQ(heard.summary.verdict,
            "the camera was not found (0x105), though it serves at http://192.0.2.17/");
  EXPECT_NE(heard.summary.next.find("ribbon"), std::string::npos);
  EXPECT_EQ(read_log(kPowerOn + "frame buffer malloc failed\r\n").summary.state, BoardState::no_memory);
}

TEST(BootLog, AFailureToJoinStandsUntilItJoined) {
  const Heard refused = read_log(kPowerOn + "Reason: 201 - NO_AP_FOUND\r\nReason: 15 - X\r\n");
  EXPECT_EQ(refused.summary.state, BoardState::not_joined);
  EXPECT_NE(refused.summary.verdict.find("(reason 15)"), std::string::npos) << refused.summary.verdict;
  EXPECT_NE(refused.summary.next.find("password"), std::string::npos);
  EXPECT_TRUE(read_log(kPowerOn + "Reason: 201 - NO_AP_FOUND\r\n" + kServing).summary.good);
  EXPECT_FALSE(read_log(kPowerOn + kServing + "Reason: 200 - BEACON_TIMEOUT\r\n").summary.good);
}

TEST(BootLog, RepeatedLinesAreToldOnceAndCounted) {
  std::string log = kPowerOn + kServing;
  for (int i = 0; i < 12; ++i) log += "cam_hal: NO-EOI\r\ncam_hal: FB-OVF\r\nerror in send : 104\r\n";
  const Heard heard = read_log(log);
  EXPECT_EQ(heard.findings.size(), 7U);
  EXPECT_EQ(heard.summary.counts.at("capture-fault NO-EOI"), 12U);
  EXPECT_EQ(heard.summary.counts.at("capture-fault FB-OVF"), 12U);
  EXPECT_EQ(heard.summary.counts.at("send-failed 104"), 12U);
  EXPECT_NE(heard.summary.verdict.find("24 broken pictures dropped"), std::string::npos)
      << heard.summary.verdict;
}

TEST(BootLog, SilenceAndUnknownTextSayWhatToCheck) {
  const auto silent = heard_at({}, 10000);
  EXPECT_EQ(silent.state, BoardState::silent);
  EXPECT_EQ(silent.verdict, "nothing heard in 10 s");
  EXPECT_NE(silent.next.find("RX"), std::string::npos);
  const auto unclear = heard_at({{0, "hello\r\n"}}, 1000);
  EXPECT_EQ(unclear.state, BoardState::unclear);
  EXPECT_EQ(unclear.verdict, "1 line heard, but none tells how the board is");
  EXPECT_FALSE(unclear.good);
}

TEST(BootLog, AStopWithoutAStartBehindItIsACrash) {
  EXPECT_EQ(read_log(kPowerOn + kPanic).summary.state, BoardState::crashed);
  EXPECT_EQ(read_log(kPowerOn + "Brownout detector was triggered\r\n").summary.verdict,
            "stopped by a brown-out, and no start was heard after it");
}

TEST(BootLog, TenMegabytesOfNoiseTakeNoMoreThanAFewLines) {
  std::mt19937 random(20260301);
  BootLog log([](const BootFinding& finding) { EXPECT_LE(finding.evidence.size(), 250U); });
  std::size_t longest = 0;
  BootLines lines([&](const BootLine& line) {
    longest = std::max(longest, line.text.capacity());
    log.take(line);
  });
  RateSearch search(Baud{115200});
  std::string piece(4096, '\0');
  for (std::size_t sent = 0; sent < 10'000'000; sent += piece.size()) {
    for (char& byte : piece) byte = static_cast<char>(random());
    lines.push(piece);
    EXPECT_LE(search.push(piece).text.size(), 8192U);
  }
  lines.finish();
  EXPECT_LE(longest, 2 * kMaxBootLineBytes);
  EXPECT_EQ(search.verdict(), RateVerdict::garbage);
  EXPECT_LE(log.summary(std::nullopt).counts.size(), 65U);
}

TEST(BootLog, KindsThatAreMadeUpWithoutEndAreLumpedTogether) {
  std::string log;
  for (int i = 0; i < 1000; ++i) log += fmt::format("Reason: {} - X\r\n", i);
  const Heard heard = read_log(log);
  EXPECT_LE(heard.findings.size(), 64U);
  EXPECT_EQ(heard.summary.counts.size(), 65U);
  EXPECT_EQ(heard.summary.counts.at("others"), 936U);
}

TEST(BootLog, SplitsDoNotMatter) {
  EXPECT_TRUE(rc::check([] {
    const auto parts = *rc::gen::container<std::vector<std::string>>(rc::gen::weightedOneOf<std::string>(
        {{6, rc::gen::elementOf(std::vector<std::string>{
                 kPowerOn, kSoftware, kServing, kPanic, "flash read err, 1000\r\n",
                 "Brownout detector was triggered\r\n", "cam_hal: NO-EOI\n", "waiting for download\r"})},
         {1, rc::gen::arbitrary<std::string>()}}));
    std::string log;
    for (const std::string& part : parts) log += part;
    const Heard whole = read_log(log);
    const Heard pieces = read_log(log, *rc::gen::inRange<std::size_t>(1, 60));
    RC_ASSERT(pieces.findings.size() == whole.findings.size());
    for (std::size_t i = 0; i < whole.findings.size(); ++i) {
      RC_ASSERT(pieces.findings[i].line == whole.findings[i].line);
      RC_ASSERT(pieces.findings[i].words.meaning == whole.findings[i].words.meaning);
    }
    RC_ASSERT(pieces.summary.verdict == whole.summary.verdict);
    RC_ASSERT(pieces.summary.counts == whole.summary.counts);
    RC_ASSERT(!whole.summary.verdict.empty());
  }));
}

}  // namespace
}  // namespace rookery::proto
