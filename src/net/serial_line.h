// The kernel's side of a serial port: what needs its own headers, which do not go together with <termios.h>.
#pragma once

#include <cstdint>

namespace rookery::net {

// Each returns 0, or the errno of the call that failed.

// Raw bytes, 8 data bits, no parity, one stop bit, no handshake, control lines left alone on closing; and the
// rate. EINVAL when the hardware took another rate, more than 3 % off: a receiver copes with about 4 % (half
// a bit in ten).
int set_serial_line(int descriptor, std::uint32_t bits_per_s);

// Lets DTR and RTS go. A line without them (a pseudo-terminal) is none the worse.
int release_control_lines(int descriptor);

// Keeps others from opening it (root excepted), and holds the lock that well-behaved programs ask for.
// EWOULDBLOCK when another program holds that.
int hold_alone(int descriptor);

// Drops what came in and was not read.
int drop_input(int descriptor);

}  // namespace rookery::net
