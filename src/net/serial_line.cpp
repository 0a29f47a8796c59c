#include "net/serial_line.h"

#include <asm/ioctls.h>
#include <asm/termbits.h>
#include <sys/file.h>
#include <sys/ioctl.h>

#include <cerrno>

namespace rookery::net {
namespace {

int result(int returned) { return returned < 0 ? errno : 0; }

// By BOTHER, which takes any number: 74880 has no constant of its own.
void set_rate(termios2& line, std::uint32_t bits_per_s) {
  line.c_cflag &= ~static_cast<tcflag_t>(CBAUD | (CBAUD << IBSHIFT));
  line.c_cflag |= BOTHER | (BOTHER << IBSHIFT);
  line.c_ispeed = bits_per_s;
  line.c_ospeed = bits_per_s;
}

}  // namespace

int set_serial_line(int descriptor, std::uint32_t bits_per_s) {
  termios2 line{};
  if (::ioctl(descriptor, TCGETS2, &line) < 0) return errno;
  line.c_iflag = 0;  // bytes with a bad stop bit are kept: they tell of a wrong rate
  line.c_oflag = 0;
  line.c_lflag = 0;
  line.c_cflag &= ~static_cast<tcflag_t>(CSIZE | PARENB | CSTOPB | CRTSCTS | HUPCL);
  line.c_cflag |= CS8 | CREAD | CLOCAL;
  line.c_cc[VMIN] = 1;
  line.c_cc[VTIME] = 0;
  set_rate(line, bits_per_s);
  if (::ioctl(descriptor, TCSETS2, &line) < 0) return errno;
  if (::ioctl(descriptor, TCGETS2, &line) < 0) return errno;
  const std::uint32_t got = line.c_ispeed;
  const std::uint32_t off = got > bits_per_s ? got - bits_per_s : bits_per_s - got;
  return std::uint64_t{off} * 100 > std::uint64_t{bits_per_s} * 3 ? EINVAL : 0;
}

int release_control_lines(int descriptor) {
  // Both in one call: one alone would be reset, or programming mode.
  int lines = TIOCM_DTR | TIOCM_RTS;
  const int failed = result(::ioctl(descriptor, TIOCMBIC, &lines));
  return failed == EINVAL || failed == ENOTTY ? 0 : failed;
}

int hold_alone(int descriptor) {
  if (::flock(descriptor, LOCK_EX | LOCK_NB) < 0) return errno;
  return result(::ioctl(descriptor, TIOCEXCL));
}

int drop_input(int descriptor) { return result(::ioctl(descriptor, TCFLSH, TCIFLUSH)); }

}  // namespace rookery::net
