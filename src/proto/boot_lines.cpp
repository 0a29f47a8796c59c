#include "proto/boot_lines.h"

namespace rookery::proto {
namespace {

constexpr char kEscape = '\x1b';

}  // namespace

void BootLines::push(std::string_view bytes, SinceStart at) {
  for (const char byte : bytes) {
    const bool cr = byte == '\r';
    const bool lf = byte == '\n';
    if (after_cr_ && (cr || lf)) {
      after_cr_ = cr;
      continue;
    }
    after_cr_ = cr;
    if (!begun_) line_.at = at;
    begun_ = true;
    if (cr || lf) {
      end_line(true);
    } else {
      take_byte(byte);
    }
  }
}

// A sequence that is none ends with the byte that shows it, which is text again: noise costs itself only.
void BootLines::take_byte(char byte) {
  const auto code = static_cast<unsigned char>(byte);
  if (byte == kEscape) {
    state_ = State::escape;
    return;
  }
  if (state_ == State::escape) {
    state_ = byte == '[' ? State::sequence : State::text;
    if (code >= 0x20 && code < 0x7f) return;
  }
  if (state_ == State::sequence) {
    if (code >= 0x20 && code <= 0x3f) return;  // parameters
    state_ = State::text;
    if (code >= 0x40 && code <= 0x7e) return;  // the final byte
  }
  if (line_.text.size() < kMaxBootLineBytes) {
    line_.text += byte;
  } else {
    line_.cut = true;
  }
}

void BootLines::finish() {
  if (begun_ && !line_.text.empty()) end_line(false);
  drop_begun();
}

void BootLines::drop_begun() {
  line_ = {};
  begun_ = false;
  state_ = State::text;
  after_cr_ = false;
}

void BootLines::end_line(bool ended) {
  line_.number = ++lines_;
  line_.ended = ended;
  take_(line_);
  line_.text.clear();  // keeps its memory
  line_.cut = false;
  line_.at.reset();
  begun_ = false;
  state_ = State::text;
}

}  // namespace rookery::proto
