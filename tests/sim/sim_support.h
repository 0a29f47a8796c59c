// Helpers of the workshop's own tests: pictures, a running board, the output of an outside program.
#pragma once

#include <cstdio>
#include <string>
#include <thread>
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
