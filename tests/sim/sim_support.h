// Helpers of the workshop's own tests: pictures, a running board, the output of an outside program.
#pragma once

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <optional>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include <turbojpeg.h>
#include <boost/asio.hpp>

#include "sim/board.h"

namespace rookery::sim::test {

// A small JPEG whose grey level is `level`.
inline Bytes grey_jpeg(int width, int height, unsigned char level) {
  std::vector<unsigned char> pixels(static_cast<std::size_t>(width * height), level);
  for (std::size_t i = 0; i < pixels.size(); ++i)
    pixels[i] = static_cast<unsigned char>(pixels[i] + (i * 7919 % 61));
  unsigned char* out = nullptr;
  unsigned long size = 0;
  const tjhandle handle = tjInitCompress();
  tjCompress2(handle, pixels.data(), width, 0, height, TJPF_GRAY, &out, &size, TJSAMP_GRAY, 80, 0);
  std::vector<std::uint8_t> bytes(out, out + size);
  tjFree(out);
  tjDestroy(handle);
  return make_bytes(std::move(bytes));
}

// Runs a command and gives what it wrote to standard output.
inline std::string output_of(const std::string& command) {
  std::string text;
  std::FILE* pipe = ::popen(command.c_str(), "r");
  if (pipe == nullptr) return text;
  std::array<char, 65536> block{};
  for (std::size_t n = 0; (n = std::fread(block.data(), 1, block.size(), pipe)) > 0;)
    text.append(block.data(), n);
  ::pclose(pipe);
  return text;
}

// A context with its own thread, for boards under test.
class Running {
 public:
  Running() : work_(boost::asio::make_work_guard(context_)), thread_([this] { context_.run(); }) {}
  ~Running() {
    work_.reset();
    context_.stop();
    thread_.join();
  }
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;
  boost::asio::any_io_executor executor() { return context_.get_executor(); }

 private:
  boost::asio::io_context context_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_;
  std::thread thread_;
};

inline std::vector<Bytes> three_pictures() {
  return {grey_jpeg(160, 120, 40), grey_jpeg(160, 120, 100), grey_jpeg(160, 120, 160)};
}

// A board that is fast and notes what it sends.
inline BoardOptions quick(Framing framing = Framing::chunked_stamp) {
  BoardOptions options;
  options.framing = framing;
  options.frames_per_second = 200;
  options.record_hashes = true;
  if (framing == Framing::quoted_boundary) options.boundary = "saltmarsh:frame";
  return options;
}

// A viewer that asks for a path and reads until `enough` bytes, the end, or ten seconds.
class Viewer {
 public:
  Viewer(const std::string& address, std::string_view ask) {
    const std::size_t colon = address.rfind(':');
    const std::size_t slash = address.find('/', colon);
    const int port = std::stoi(address.substr(colon + 1, slash - colon - 1));
    socket_.connect(boost::asio::ip::tcp::endpoint(boost::asio::ip::address_v4::loopback(),
                                                   static_cast<std::uint16_t>(port)));
    const std::string path(ask.empty() ? address.substr(slash) : std::string(ask));
    boost::asio::write(socket_, boost::asio::buffer("GET " + path + " HTTP/1.1\r\nHost: board\r\n\r\n"));
  }
  // True when more than `size` bytes have come in all before the deadline. One read is asked for at a time
  // and none is ever cancelled: what it ended with is the connection's own word.
  bool hears(std::size_t size, std::chrono::milliseconds deadline = std::chrono::seconds(10)) {
    const auto end = std::chrono::steady_clock::now() + deadline;
    while (!ended_ && got_.size() <= size) {
      if (!std::exchange(reading_, true)) read();
      context_.restart();
      if (context_.run_one_until(end) == 0) break;
    }
    return got_.size() > size;
  }
  void leave() { socket_.close(); }
  bool ended() const { return ended_; }
  boost::system::error_code error() const { return error_; }
  const std::string& got() const { return got_; }
  // The longest time between two readings that brought something.
  std::chrono::steady_clock::duration longest_gap() const { return longest_gap_; }

 private:
  void read() {
    socket_.async_read_some(boost::asio::buffer(block_), [this](auto error, std::size_t n) {
      reading_ = false;
      got_.append(block_.data(), n);
      const auto now = std::chrono::steady_clock::now();
      if (n > 0 && last_) longest_gap_ = std::max(longest_gap_, now - *last_);
      if (n > 0) last_ = now;
      error_ = error;
      ended_ = bool(error);
    });
  }

  boost::asio::io_context context_;
  boost::asio::ip::tcp::socket socket_{context_};
  std::array<char, 65536> block_{};
  std::string got_;
  boost::system::error_code error_;
  bool reading_ = false;
  bool ended_ = false;
  std::optional<std::chrono::steady_clock::time_point> last_;
  std::chrono::steady_clock::duration longest_gap_{};
};

// How often `needle` occurs in `hay`, without overlap.
inline int occurrences(std::string_view hay, std::string_view needle) {
  int n = 0;
  for (std::size_t i = 0; (i = hay.find(needle, i)) != std::string_view::npos; i += needle.size()) ++n;
  return n;
}

inline std::string_view text_of(const Bytes& bytes) {
  return {reinterpret_cast<const char*>(bytes->data()), bytes->size()};
}

}  // namespace rookery::sim::test
