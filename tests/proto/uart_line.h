// What a receiver set to one rate reads from a serial line on which another rate is sent: 8 data bits, no
// parity, one stop bit.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "proto/serial_rate.h"

namespace rookery::proto::test {

// The levels of the line, one element a bit time of the sender, the line idle before, between and after.
inline std::vector<bool> levels_of(std::string_view text, std::size_t idle_bits = 0) {
  std::vector<bool> out(20, true);
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    out.push_back(false);                                                       // start
    for (int bit = 0; bit < 8; ++bit) out.push_back(((byte >> bit) & 1) != 0);  // the least first
    out.insert(out.end(), 1 + idle_bits, true);                                 // stop
  }
  out.insert(out.end(), 20, true);
  return out;
}

// How a receiver hands over a byte whose stop bit is low: as it was read, or as NUL (POSIX termios knows
// both).
enum class BadStop { kept, nul };

// A receiver as usual: it looks 16 times a bit for the falling edge, and in the middle of each bit for its
// level. After a stop bit that is low it waits for the line to be idle. Ends after `most_bytes`.
inline std::string received(const std::vector<bool>& levels, Baud sent, Baud read,
                            BadStop bad = BadStop::kept, std::size_t most_bytes = std::string::npos) {
  // In units of 1 / (sent · read · 32), so that all times are whole numbers.
  const std::uint64_t bit_sent = std::uint64_t{read.bits_per_s} * 32;
  const std::uint64_t bit_read = std::uint64_t{sent.bits_per_s} * 32;
  const std::uint64_t step = bit_read / 16;
  const std::uint64_t end = bit_sent * levels.size();
  const auto level = [&](std::uint64_t at) { return at >= end || levels[at / bit_sent]; };
  // The next look at which the line is not at `from`; the looks between are left out.
  const auto next_change = [&](std::uint64_t at, bool from) {
    std::uint64_t bit = at / bit_sent;
    while (bit < levels.size() && levels[bit] == from) ++bit;
    const std::uint64_t edge = bit * bit_sent;
    return edge <= at ? at : at + (edge - at + step - 1) / step * step;
  };
  std::string out;
  for (std::uint64_t at = next_change(0, true); at < end && out.size() < most_bytes;
       at = next_change(at, true)) {
    if (level(at + bit_read / 2)) {  // a spike, no start bit
      at += step;
      continue;
    }
    unsigned byte = 0;
    for (unsigned bit = 0; bit < 8; ++bit) {
      if (level(at + bit_read * (3 + 2 * bit) / 2)) byte |= 1U << bit;
    }
    at += bit_read * 19 / 2;
    const bool stop = level(at);
    out += static_cast<char>(stop || bad == BadStop::kept ? byte : 0);
    if (!stop) at = next_change(at, false);
  }
  return out;
}

}  // namespace rookery::proto::test
