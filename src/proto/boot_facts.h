// What one line of a board's serial log says, for those lines that say something.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace rookery::proto {

enum class BootFactKind {
  reset,                 // code: why; detail: its name; mode: how it starts
  waiting_for_download,  // in programming mode
  flash_unreadable,      // nothing to start was read
  brown_out,             // the detector's own line, before the restart
  panic,                 // detail: its reason
  task_watchdog,         // a task did not give way
  camera_failed,         // code: the driver's error
  camera_detected,       // detail: the sensor
  no_frame_memory,       // no room for pictures
  capture_fault,         // detail: kind, such as "NO-EOI"
  frame_failed,          // a picture was asked for, and there was none
  join_failed,           // code: reason; detail: its name
  joined,                // detail: the board's own address, where the line has it
  send_failed,           // code: errno of the board
  address,               // detail: http address at which it serves
};

// A machine word: "reset", "camera-failed", …
std::string_view name_of(BootFactKind kind);

// How a board starts, by the value that its pins had at reset.
enum class BootMode { normal, programming, wrong_flash_voltage, unknown };

// Why a board restarted.
enum class ResetCause { power_on, brown_out, panic, watchdog, flash, software, deep_sleep, outside, unknown };

// In a sentence: "restarts by brown-out".
std::string_view words_for(ResetCause cause);
// By the code alone; what came before it may say otherwise (proto/boot_log.h).
ResetCause reset_cause(std::uint32_t code);

// The older sister chip's causes have numbers of their own; their codes are these plus this.
inline constexpr std::uint32_t kSisterChip = 0x100;

// immutable value. Texts are fit for a terminal and hold no secret: they are the part of the line that was
// recognised, never the rest, and addresses are redacted.
struct BootFact {
  BootFactKind kind = BootFactKind::reset;
  std::uint32_t code = 0;
  std::string detail;
  BootMode mode = BootMode::unknown;
  std::string evidence;

  bool operator==(const BootFact&) const = default;
};

// `line`: any bytes, without its end. None for a line that says nothing we know.
std::optional<BootFact> read_boot_line(std::string_view line);

// Milliseconds since the board's start as its own log lines carry them: "I (1234) …", "[  1234][E]…".
std::optional<std::uint32_t> board_stamp_ms(std::string_view line);

}  // namespace rookery::proto
