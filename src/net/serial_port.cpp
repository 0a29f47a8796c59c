#include "net/serial_port.h"

#include <fcntl.h>
#include <grp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>

#include <fmt/format.h>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "base/descriptor.h"
#include "net/deadline.h"
#include "net/serial_line.h"

namespace rookery::net {
namespace {

using base::Error;
using base::ErrorCode;

void add_ports(const std::filesystem::path& folder, std::string_view prefix, std::vector<std::string>& out) {
  std::error_code failed;
  std::vector<std::string> found;
  for (std::filesystem::directory_iterator at(folder, failed), end; !failed && at != end;
       at.increment(failed)) {
    const std::string name = at->path().filename().string();
    if (name.starts_with(prefix)) found.push_back(at->path().string());
  }
  std::ranges::sort(found);
  out.insert(out.end(), found.begin(), found.end());
}

Error no_such_port(const std::string& name) {
  const auto ports = serial_ports();
  return {ErrorCode::not_found, "listen", fmt::format("there is no port {}", name),
          ports.empty() ? "No serial adapter is plugged in, or its lead carries power only: try another lead."
                        : fmt::format("There are: {}.", fmt::join(ports, ", "))};
}

// The group that owns the device, when its members may read and write it.
std::string group_of(const std::filesystem::path& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || (status.st_mode & 060) != 060 || status.st_gid == 0) return {};
  struct group entry {};
  struct group* found = nullptr;
  std::array<char, 4096> room{};
  if (::getgrgid_r(status.st_gid, &entry, room.data(), room.size(), &found) != 0 || found == nullptr)
    return {};
  return found->gr_name;
}

Error no_permission(const std::string& name) {
  const std::string group = group_of(name);
  return {ErrorCode::no_permission, "listen", fmt::format("this user may not open {}", name),
          group.empty()
              ? "Ask whoever runs this computer for the right to it."
              : fmt::format("The group {} may: sudo usermod -aG {} \"$USER\", then sign out and in again.",
                            group, group)};
}

Error taken(const std::string& name) {
  return {ErrorCode::busy, "listen", fmt::format("another program holds {}", name),
          "Close what else reads or programs the board."};
}

Error no_serial_port(const std::string& name) {
  return {ErrorCode::unsupported, "listen", fmt::format("{} is not a serial port", name),
          "Name a serial port or a file."};
}

Error unplugged(const std::string& name) {
  return {ErrorCode::closed, "listen",
          fmt::format("{} is gone: its lead was pulled, or the adapter lost its power", name),
          "Plug it in again."};
}

bool is_gone(int number) {
  return number == EIO || number == ENXIO || number == ENODEV || number == EBADF || number == ENOENT;
}

// `number`: an errno of opening or setting the port.
Error port_error(int number, const std::string& name) {
  switch (number) {
    case ENOENT:
      return no_such_port(name);
    case EACCES:
    case EPERM:
      return no_permission(name);
    case EBUSY:
    case EWOULDBLOCK:
      return taken(name);
    case ENOTTY:
    case EISDIR:
      return no_serial_port(name);
    case ENXIO:
    case ENODEV:
    case EIO:
      return unplugged(name);
    default:
      return {ErrorCode::io, "listen", fmt::format("{}: {}", name, std::strerror(number)), ""};
  }
}

Error no_such_rate(proto::Baud rate, const std::string& name) {
  return {ErrorCode::unsupported, "listen",
          fmt::format("{} cannot do {} bits a second", name, rate.bits_per_s),
          "Use another adapter, or another rate."};
}

}  // namespace

std::vector<std::string> serial_ports() {
  std::vector<std::string> out;
  add_ports("/dev/serial/by-id", "", out);
  add_ports("/dev", "ttyUSB", out);
  add_ports("/dev", "ttyACM", out);
  return out;
}

// The kernel itself raises DTR and RTS on opening, both at once, which reset circuits take for nothing; they
// are let go by the very next call.
base::Result<SerialPort> SerialPort::open(const boost::asio::any_io_executor& executor,
                                          const std::filesystem::path& path, proto::Baud rate) {
  const std::string name = path.string();
  base::Descriptor opened(::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
  if (!opened) return port_error(errno, name);
  if (::isatty(opened.get()) == 0) return no_serial_port(name);
  if (const int failed = release_control_lines(opened.get())) return port_error(failed, name);
  if (const int failed = hold_alone(opened.get())) return port_error(failed, name);
  SerialPort port(executor, opened.let_go(), name);
  if (auto set = port.set_rate(rate); !set) return set.error();
  return port;
}

base::Result<void> SerialPort::set_rate(proto::Baud rate) {
  const int failed = set_serial_line(stream_.native_handle(), rate.bits_per_s);
  if (failed == EINVAL) return no_such_rate(rate, name_);
  if (failed != 0) return port_error(failed, name_);
  drop_input(stream_.native_handle());
  return base::ok();
}

boost::asio::awaitable<base::Result<std::optional<std::size_t>>> SerialPort::read_some(
    std::span<char> into, std::chrono::steady_clock::duration limit) {
  using Read = std::tuple<boost::system::error_code, std::size_t>;
  constexpr auto kAsTuple = boost::asio::as_tuple(boost::asio::use_awaitable);
  boost::asio::awaitable<Read> reading =
      stream_.async_read_some(boost::asio::buffer(into.data(), into.size()), kAsTuple);
  auto limited = with_deadline(std::move(reading), limit);
  const std::optional<Read> read = co_await std::move(limited);
  if (!read) co_return std::optional<std::size_t>();
  const auto& [failed, bytes] = *read;
  if (!failed) co_return std::optional<std::size_t>(bytes);
  if (failed == boost::asio::error::eof || is_gone(failed.value())) co_return unplugged(name_);
  co_return Error(ErrorCode::io, "listen", fmt::format("{}: {}", name_, failed.message()), "");
}

}  // namespace rookery::net
