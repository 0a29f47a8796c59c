// Logs of make-believe boards, and what is made of them, for the tests of the serial log.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "proto/boot_log.h"

namespace rookery::proto::test {

struct Heard {
  std::vector<BootFinding> findings;
  BootSummary summary;
};

// The whole log at once, without times; or in pieces of `piece` bytes.
inline Heard read_log(std::string_view log, std::size_t piece = 0) {
  Heard heard;
  BootLog told([&heard](const BootFinding& finding) { heard.findings.push_back(finding); });
  BootLines lines([&told](const BootLine& line) { told.take(line); });
  if (piece == 0) piece = log.size() + 1;
  for (std::size_t at = 0; at < log.size(); at += piece) lines.push(log.substr(at, piece));
  lines.finish();
  heard.summary = told.summary(std::nullopt);
  return heard;
}

inline const std::string kPowerOn =
    "ets Jul 29 2019 12:21:46\r\n\r\nrst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n"
    "configsip: 0, SPIWP:0xee\r\nclk_drv:0x00,q_drv:0x00,d_drv:0x00,cs0_drv:0x00,hd_drv:0x00,wp_drv:0x00\r\n"
    "mode:DIO, clock div:1\r\nload:0x3fff0030,len:1344\r\nload:0x40078000,len:13964\r\nentry 0x400805e4\r\n";
inline const std::string kSoftware = "rst:0xc (SW_CPU_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\n";
inline const std::string kServing =
    "[   612][I][camera] Detected XS2040 camera\r\n...\r\nWiFi connected\r\n"
    "Ready: 'http://192.0.2.17' in a browser\r\n";
inline const std::string kPanic =
    "Guru Meditation Error: Core  1 panic'ed (LoadProhibited). Exception was unhandled.\r\n"
    "Core  1 register dump:\r\nPC      : 0x400d1f2e  PS      : 0x00060330  A0      : 0x800d2b4c\r\n"
    "Backtrace: 0x400d1f2e:0x3ffb1f30 0x400d2b49:0x3ffb1f50\r\n\r\nRebooting...\r\n";

}  // namespace rookery::proto::test
