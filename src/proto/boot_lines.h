// Bytes of a board's serial line cut into lines of text, however they arrive.
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace rookery::proto {

// A line's text that is kept; the rest of a longer one is dropped. The longest line that boards print (a
// panic's registers or backtrace) is under 300 B (from memory).
inline constexpr std::size_t kMaxBootLineBytes = 1000;

// Since whoever listens began; none for a log that was stored without times.
using SinceStart = std::optional<std::chrono::milliseconds>;

// immutable value.
struct BootLine {
  std::uint64_t number = 0;  // from 1; empty lines count
  SinceStart at;             // when its first byte came
  std::string text;          // bytes as sent, without colours and without its end; at most kMaxBootLineBytes
  bool cut = false;          // there was more
  bool ended = true;         // false for what stood without an end when the listening ended
};

// strand-bound. A line ends with LF, CR or CRLF; CRs one behind the other are one end, since some builds
// print CR CR LF. Control sequences of terminals (ECMA-48 §5.4: ESC [ … final byte; ESC and one more byte)
// are taken out, since builds print in colours. Any byte may come, and bytes may be split anywhere.
class BootLines {
 public:
  using Take = std::function<void(const BootLine&)>;
  explicit BootLines(Take take) : take_(std::move(take)) {}

  // `at`: when these bytes came.
  void push(std::string_view bytes, SinceStart at = std::nullopt);
  // No more bytes come: hands over what stands without an end, if anything.
  void finish();
  // What was begun is no line: drops it uncounted.
  void drop_begun();

  std::uint64_t lines() const { return lines_; }

 private:
  enum class State { text, escape, sequence };
  void end_line(bool ended);
  void take_byte(char byte);

  Take take_;
  BootLine line_;
  State state_ = State::text;
  bool begun_ = false;     // something of the line came, be it a colour only
  bool after_cr_ = false;  // a LF or CR now belongs to the end before
  std::uint64_t lines_ = 0;
};

}  // namespace rookery::proto
