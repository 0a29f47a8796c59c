// rookery listen PORT|FILE|- [--rate BAUD] [--seconds N] [--json]
#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include <fmt/format.h>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>

#include "base/file.h"
#include "cli/cli.h"
#include "cli/listen_ear.h"
#include "cli/stop_signal.h"
#include "net/serial_port.h"
#include "proto/txt_record.h"

namespace rookery::cli {
namespace {

using base::Error;
using base::ErrorCode;
using std::chrono::milliseconds;

// How often it is looked whether someone asked for the end.
constexpr milliseconds kLook{200};
constexpr std::size_t kRead_bytes = 4096;

struct ListenArgs {
  std::string what;
  std::optional<std::uint32_t> rate;
  std::optional<double> seconds;
};

// Since the listening began, and whether it shall end.
class Span {
 public:
  explicit Span(const ListenArgs& args) {
    if (args.seconds) limit_ = milliseconds(static_cast<std::int64_t>(*args.seconds * 1000));
  }
  milliseconds now() const { return std::chrono::duration_cast<milliseconds>(clock_.mono() - begin_); }
  bool over() const { return asked_to_stop() || (limit_ && now() >= *limit_); }
  // Until the next look, at least 1 ms.
  milliseconds wait() const { return limit_ ? std::clamp(*limit_ - now(), milliseconds(1), kLook) : kLook; }

 private:
  base::SystemClock clock_;
  base::MonoTime begin_ = clock_.mono();
  std::optional<milliseconds> limit_;
};

// Lent: all by listen_to_port, which runs it to its end.
boost::asio::awaitable<base::Result<void>> listen(net::SerialPort& port, Ear& ear, const Span& span) {
  std::array<char, kRead_bytes> buffer{};
  while (!span.over()) {
    auto reading = port.read_some(buffer, span.wait());
    const base::Result<std::optional<std::size_t>> read = co_await std::move(reading);
    if (!read) co_return read.error();
    if (!*read) {
      ear.hear_nothing(span.now());
      continue;
    }
    const auto go_to = ear.hear({buffer.data(), **read}, span.now());
    if (!go_to) continue;
    // A rate that this adapter cannot do is passed over: what comes then is garbage once more.
    auto set = port.set_rate(*go_to);
    if (!set && set.error().code != ErrorCode::unsupported) co_return set.error();
    ear.say_new_rate();
  }
  co_return base::ok();
}

base::Result<void> listen_to_port(const ListenArgs& args, Context& context) {
  std::optional<proto::Baud> given;
  if (args.rate) given = proto::Baud{*args.rate};
  Ear ear(context, true, given);
  boost::asio::io_context io;
  auto port = net::SerialPort::open(io.get_executor(), args.what, ear.rate());
  if (!port) return port.error();
  ear.say(fmt::format("Listening on {} at {} bits a second. Press reset on the board; Ctrl-C ends.",
                      proto::printable(args.what), ear.rate().bits_per_s));
  const Span span(args);
  base::Result<void> ended = base::ok();
  std::exception_ptr thrown;
  boost::asio::co_spawn(io, listen(*port, ear, span),
                        [&](std::exception_ptr error, base::Result<void> result) {
                          thrown = std::move(error);
                          ended = std::move(result);
                        });
  io.run();
  if (thrown) std::rethrow_exception(thrown);
  ear.sum_up(span.now());
  return ended;
}

Error file_failed(int number, const std::string& what) { return base::file_error(number, "listen", what); }

// Also what another program pipes in, which may take its time.
base::Result<void> hear_file(int descriptor, const std::string& what, Ear& ear, const Span& span) {
  std::array<char, kRead_bytes> buffer{};
  while (!span.over()) {
    struct pollfd ready {
      descriptor, POLLIN, 0
    };
    if (::poll(&ready, 1, static_cast<int>(span.wait().count())) == 0) continue;
    const ssize_t read = ::read(descriptor, buffer.data(), buffer.size());
    if (read == 0) break;
    if (read < 0 && errno != EINTR && errno != EAGAIN) return file_failed(errno, what);
    if (read > 0) ear.hear({buffer.data(), static_cast<std::size_t>(read)}, std::nullopt);
  }
  return base::ok();
}

base::Result<void> listen_to_file(const ListenArgs& args, Context& context) {
  const bool given = args.what == "-";
  const int descriptor = given ? STDIN_FILENO : ::open(args.what.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0) return file_failed(errno, args.what);
  Ear ear(context, false, std::nullopt);
  const Span span(args);
  auto heard = hear_file(descriptor, given ? "standard input" : args.what, ear, span);
  if (!given) ::close(descriptor);
  if (heard) ear.sum_up(std::nullopt);
  return heard;
}

bool is_port(const std::string& what) {
  std::error_code failed;
  const auto status = std::filesystem::status(what, failed);
  return std::filesystem::is_character_file(status) ||
         (!std::filesystem::exists(status) && what.starts_with("/dev/"));
}

Error nothing_there(const std::string& what) {
  const auto ports = net::serial_ports();
  return {ErrorCode::not_found, "listen",
          fmt::format("there is no file \"{}\", and no port is called so", proto::printable(what)),
          ports.empty() ? "No serial adapter is plugged in, or its lead carries power only: try another lead."
                        : fmt::format("There are: {}.", fmt::join(ports, ", "))};
}

base::Result<void> listen(const ListenArgs& args, Context& context) {
  stop_on_signals();
  if (args.what == "-") return listen_to_file(args, context);
  if (is_port(args.what)) return listen_to_port(args, context);
  std::error_code failed;
  if (std::filesystem::is_directory(args.what, failed)) {
    return Error(ErrorCode::invalid_value, "listen",
                 fmt::format("\"{}\" is a folder", proto::printable(args.what)),
                 "Name a serial port or a file.");
  }
  if (!std::filesystem::exists(args.what, failed)) return nothing_there(args.what);
  return listen_to_file(args, context);
}

}  // namespace

void add_listen_command(CLI::App& app, Context& context) {
  CLI::App* command =
      app.add_subcommand("listen", "Read what a board says on its serial line, and explain it");
  auto args = std::make_shared<ListenArgs>();
  command
      ->add_option("PORT|FILE", args->what,
                   "A serial port such as /dev/ttyUSB0, a file with a stored log, or - for standard input")
      ->required();
  command
      ->add_option(
          "--rate", args->rate,
          "Bits a second, 300 to 4000000; unless given, the usual rates are tried until there is text")
      ->check(CLI::Range(300, 4'000'000));
  command
      ->add_option("--seconds", args->seconds,
                   "Listen for so long (0.1 to 86400); until Ctrl-C, or the end of the file, unless given")
      ->check(CLI::Range(0.1, 86400.0));
  context.add_json(*command);
  command->callback([args, &context] {
    if (auto done = listen(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
