#include "proto/boot_facts.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "base/redact.h"
#include "proto/boot_text.h"
#include "proto/txt_record.h"

namespace rookery::proto {
namespace {

using Fact = std::optional<BootFact>;

std::string evidence_of(std::string_view text) {
  if (may_hold_secret(text)) return "(not shown: it may hold a password)";
  return printable(text);
}

BootFact fact(BootFactKind kind, std::uint32_t code, std::string_view detail, std::string_view evidence) {
  BootFact out;
  out.kind = kind;
  out.code = code;
  if (!may_hold_secret(detail)) out.detail = printable(detail, 60);
  out.evidence = evidence_of(evidence);
  return out;
}

// The part of `line` from `begin` up to where `rest`, its tail, begins.
std::string_view until(std::string_view line, std::size_t begin, std::string_view rest) {
  return line.substr(begin, line.size() - rest.size() - begin);
}

// " (NAME)" off the front of `text`, or "(NAME)"; the name, empty when there is none.
std::string_view take_name(std::string_view& text) {
  std::string_view rest = text;
  if (rest.starts_with(' ')) rest.remove_prefix(1);
  if (!rest.starts_with('(')) return {};
  const std::string_view name = word_at(rest.substr(1), "_/ .'-+");
  if (rest.size() < name.size() + 2 || rest[name.size() + 1] != ')') {
    // Names with parentheses inside: "DOWNLOAD(USB/UART0)".
    const std::size_t end = std::min(rest.find(')'), rest.size());
    text = rest.substr(std::min(end + 1, rest.size()));
    return name;
  }
  text = rest.substr(name.size() + 2);
  return name;
}

// The name is believed before the bits, whose places differ between chips of the family; but a start from
// flash with both pins high is one with the wrong flash voltage whatever it is called.
BootMode boot_mode(std::uint32_t value, std::string_view name) {
  constexpr std::uint32_t kProgrammingPinHigh = 0x10;
  constexpr std::uint32_t kFlashVoltagePinHigh = 0x20;
  if (name.starts_with("DOWNLOAD")) return BootMode::programming;
  if ((value & kProgrammingPinHigh) != 0)
    return (value & kFlashVoltagePinHigh) != 0 ? BootMode::wrong_flash_voltage : BootMode::normal;
  if (name.find("FLASH") != std::string_view::npos) return BootMode::normal;
  return value == 0x3 ? BootMode::programming : BootMode::unknown;
}

// rst:0xC (NAME),boot:0xNN (MODE)
Fact read_reset(std::string_view line) {
  const std::size_t begin = line.find("rst:0x");
  if (begin == std::string_view::npos) return std::nullopt;
  std::string_view rest = line.substr(begin + 4);
  const auto code = take_number(rest);
  if (!code || *code >= kSisterChip) return std::nullopt;
  const std::string_view name = take_name(rest);
  BootFact out = fact(BootFactKind::reset, *code, name, {});
  if (rest.starts_with(",boot:0x")) {
    rest.remove_prefix(6);
    if (const auto boot = take_number(rest)) out.mode = boot_mode(*boot, take_name(rest));
  }
  out.evidence = evidence_of(until(line, begin, rest));
  return out;
}

// rst cause:2, boot mode:(3,6): the older sister chip. Mode 3 starts from flash, 1 waits for a program (from
// memory).
Fact read_sister_reset(std::string_view line) {
  const std::size_t begin = line.find("rst cause:");
  if (begin == std::string_view::npos) return std::nullopt;
  std::string_view rest = line.substr(begin + 10);
  const auto code = take_number(rest);
  if (!code || *code >= kSisterChip) return std::nullopt;
  BootFact out = fact(BootFactKind::reset, kSisterChip + *code, {}, {});
  if (rest.starts_with(", boot mode:(")) {
    rest.remove_prefix(13);
    const auto mode = take_number(rest);
    if (mode && *mode == 3) out.mode = BootMode::normal;
    if (mode && *mode == 1) out.mode = BootMode::programming;
  }
  out.evidence = evidence_of(until(line, begin, rest));
  return out;
}

// Lines that are told by their words alone.
Fact read_plain(std::string_view line) {
  struct Row {
    std::string_view words;
    BootFactKind kind;
    std::string_view detail;
  };
  constexpr std::array<Row, 9> kRows = {{
      {"waiting for download", BootFactKind::waiting_for_download, ""},
      {"flash read err, 1000", BootFactKind::flash_unreadable, "no answer"},
      {"invalid header: 0xffffffff", BootFactKind::flash_unreadable, "empty"},
      {"Brownout detector was triggered", BootFactKind::brown_out, ""},
      {"Task watchdog got triggered", BootFactKind::task_watchdog, ""},
      {"frame buffer malloc failed", BootFactKind::no_frame_memory, ""},
      {"WiFi connected", BootFactKind::joined, ""},
      {"WiFi Connected", BootFactKind::joined, ""},
      {"wifi connected", BootFactKind::joined, ""},
  }};
  for (const Row& row : kRows) {
    if (line.find(row.words) != std::string_view::npos) return fact(row.kind, 0, row.detail, row.words);
  }
  return std::nullopt;
}

// … Error: Core N panic'ed (X)
Fact read_panic(std::string_view line) {
  const std::size_t at = line.find("panic'ed");
  if (at == std::string_view::npos) return std::nullopt;
  std::string_view rest = line.substr(at + 8);
  const std::string_view reason = take_name(rest);
  const std::size_t core = line.substr(0, at).rfind("Core ");
  const std::size_t begin = core == std::string_view::npos || at - core > 10 ? at : core;
  return fact(BootFactKind::panic, 0, reason, until(line, begin, rest));
}

// Camera probe failed with error 0x…
Fact read_camera_failed(std::string_view line) {
  for (const std::string_view words : {"Camera probe failed with error ", "Camera init failed with error "}) {
    const std::size_t begin = line.find(words);
    if (begin == std::string_view::npos) continue;
    std::string_view rest = line.substr(begin + words.size());
    const auto code = take_number(rest);
    if (code) return fact(BootFactKind::camera_failed, *code, {}, until(line, begin, rest));
  }
  return std::nullopt;
}

// Detected … camera
Fact read_camera_detected(std::string_view line) {
  const auto rest = behind(line, "Detected ");
  if (!rest) return std::nullopt;
  const std::string_view sensor = word_at(*rest, "_-");
  if (sensor.empty() || !rest->substr(sensor.size()).starts_with(" camera")) return std::nullopt;
  return fact(BootFactKind::camera_detected, 0, sensor, fmt::format("Detected {} camera", sensor));
}

// cam_hal: FB-OVF|NO-SOI|NO-EOI|EV-EOF-OVF|EV-VSYNC-OVF
Fact read_capture_fault(std::string_view line) {
  const auto rest = behind(line, "cam_hal: ");
  if (!rest) return std::nullopt;
  const std::string_view kind = word_at(*rest, "-");
  for (const std::string_view known : {"FB-OVF", "NO-SOI", "NO-EOI", "EV-EOF-OVF", "EV-VSYNC-OVF"}) {
    if (kind == known) return fact(BootFactKind::capture_fault, 0, kind, fmt::format("cam_hal: {}", kind));
  }
  return std::nullopt;
}

// Failed to get … frame …
Fact read_frame_failed(std::string_view line) {
  const auto rest = behind(line, "Failed to get ");
  if (!rest || rest->substr(0, 30).find("frame") == std::string_view::npos) return std::nullopt;
  return fact(BootFactKind::frame_failed, 0, {}, fmt::format("Failed to get {}", word_at(*rest, " ")));
}

// Reason: N - NAME; disconnect … reason:N
Fact read_join_failed(std::string_view line) {
  const std::size_t begin = find_any_case(line, "reason:");
  if (begin == std::string_view::npos) return std::nullopt;
  std::string_view rest = line.substr(begin + 7);
  while (rest.starts_with(' ')) rest.remove_prefix(1);
  const auto code = take_number(rest);
  if (!code) return std::nullopt;
  std::string_view name;
  if (rest.starts_with(" - ")) {
    name = word_at(rest.substr(3), "_");
    rest.remove_prefix(3 + name.size());
  }
  if (name.empty() && find_any_case(line, "disconnect") == std::string_view::npos) return std::nullopt;
  return fact(BootFactKind::join_failed, *code, name, until(line, begin, rest));
}

// error in send : N
Fact read_send_failed(std::string_view line) {
  const std::size_t begin = line.find("error in send : ");
  if (begin == std::string_view::npos) return std::nullopt;
  std::string_view rest = line.substr(begin + 16);
  const auto code = take_number(rest);
  if (!code) return std::nullopt;
  return fact(BootFactKind::send_failed, *code, {}, until(line, begin, rest));
}

// An address of the board's own: http:// and an IPv4 address, or a name that ends with .local. Other
// addresses that boards print are those of documentation.
Fact read_address(std::string_view line) {
  for (std::size_t begin = line.find("http://"); begin != std::string_view::npos;
       begin = line.find("http://", begin + 1)) {
    const std::string_view tail = line.substr(begin);
    std::string_view url = tail.substr(0, tail.find_first_of(" \t'\"<>`|"));
    while (!url.empty() && std::string_view(".,;:)]!").find(url.back()) != std::string_view::npos)
      url.remove_suffix(1);
    if (url.size() > 200 || std::ranges::any_of(url, [](char c) { return c <= ' ' || c > '~'; })) continue;
    std::string shown = base::redact_address(url);
    std::string_view host = std::string_view(shown).substr(7);
    host = host.substr(0, host.find_first_of("/?#"));
    if (const std::size_t user = host.rfind('@'); user != std::string_view::npos)
      host.remove_prefix(user + 1);
    const std::string_view name = host.substr(0, host.find(':'));
    if (ipv4_at(name).size() != name.size() && !name.ends_with(".local")) continue;
    if (name.empty() || name == ".local") continue;
    if (shown.find('/', 7) == std::string::npos && shown.find('?') == std::string::npos) shown += '/';
    BootFact out;
    out.kind = BootFactKind::address;
    out.detail = shown;
    out.evidence = shown;
    return out;
  }
  return std::nullopt;
}

// sta ip: 192.0.2.17; got ip:…; IP address: …
Fact read_joined(std::string_view line) {
  for (const std::string_view words : {"sta ip", "got ip", "ip address"}) {
    const std::size_t begin = find_any_case(line, words);
    if (begin == std::string_view::npos) continue;
    const std::size_t value = line.find_first_not_of(": ", begin + words.size());
    if (value == std::string_view::npos || value > begin + words.size() + 4) continue;
    const std::string_view ip = ipv4_at(line.substr(value));
    if (!ip.empty()) return fact(BootFactKind::joined, 0, ip, line.substr(begin, value + ip.size() - begin));
  }
  return std::nullopt;
}

}  // namespace

std::string_view name_of(BootFactKind kind) {
  constexpr std::array<std::string_view, 15> kNames = {
      "reset",         "waiting-for-download", "flash-unreadable", "brown-out",       "panic",
      "task-watchdog", "camera-failed",        "camera-detected",  "no-frame-memory", "capture-fault",
      "frame-failed",  "join-failed",          "joined",           "send-failed",     "address"};
  return kNames.at(static_cast<std::size_t>(kind));
}

std::string_view words_for(ResetCause cause) {
  constexpr std::array<std::string_view, 9> kWords = {
      "loss of power", "brown-out",  "panic",     "watchdog",         "unreadable flash",
      "software",      "deep sleep", "reset pin", "an unknown reason"};
  return kWords.at(static_cast<std::size_t>(cause));
}

// 0x1, 0x3, 0x5, 0x7 to 0x9, 0xc, 0xf and 0x10 as in the SDK of the chip; the others, and the sister chip's,
// are from memory.
ResetCause reset_cause(std::uint32_t code) {
  switch (code) {
    case 0x1:
    case kSisterChip + 1:
      return ResetCause::power_on;
    case 0x3:
    case 0xc:
    case kSisterChip + 3:
      return ResetCause::software;
    case 0x5:
      return ResetCause::deep_sleep;
    case 0x4:
    case 0x7:
    case 0x8:
    case 0x9:
    case 0xb:
    case 0xd:
    case 0x10:
    case 0x12:
    case kSisterChip + 4:
      return ResetCause::watchdog;
    case 0xf:
      return ResetCause::brown_out;
    case 0xe:
    case kSisterChip + 2:
      return ResetCause::outside;
    default:
      return ResetCause::unknown;
  }
}

Fact read_boot_line(std::string_view line) {
  for (auto* const read : {read_reset, read_sister_reset, read_panic, read_plain, read_camera_failed,
                           read_camera_detected, read_capture_fault, read_frame_failed, read_join_failed,
                           read_send_failed, read_address, read_joined}) {
    if (auto found = read(line)) return found;
  }
  return std::nullopt;
}

std::optional<std::uint32_t> board_stamp_ms(std::string_view line) {
  const std::size_t open = line.substr(0, 4).find_first_of("[(");
  if (open == std::string_view::npos) return std::nullopt;
  std::string_view rest = line.substr(open + 1);
  while (rest.starts_with(' ')) rest.remove_prefix(1);
  if (rest.starts_with("0x")) return std::nullopt;
  const auto value = take_number(rest);
  if (!value || rest.empty() || rest.front() != (line[open] == '[' ? ']' : ')')) return std::nullopt;
  return value;
}

}  // namespace rookery::proto
