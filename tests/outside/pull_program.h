// Runs other people's programs beside a test: found on the PATH, ended with the test.
#pragma once

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <boost/asio.hpp>

#include "tests/support/temp_folder.h"

namespace rookery::test {

// Where a program is, or empty.
inline std::string program_named(const std::string& name) {
  std::string path = std::getenv("PATH") != nullptr ? std::getenv("PATH") : "";
  path += ":/usr/sbin:/sbin";
  for (std::size_t from = 0; from <= path.size();) {
    const std::size_t end = std::min(path.find(':', from), path.size());
    const std::string full = path.substr(from, end - from) + "/" + name;
    if (end > from && ::access(full.c_str(), X_OK) == 0) return full;
    from = end + 1;
  }
  return {};
}

// A running program; its destructor ends that one process.
class Program {
 public:
  // arguments[0] is the program's full path. Its output goes to `log`.
  Program(const std::vector<std::string>& arguments, const std::string& log) {
    std::vector<char*> argv;
    for (const std::string& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
    argv.push_back(nullptr);
    pid_ = ::fork();
    if (pid_ != 0) return;
    const int out = ::open(log.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    const int in = ::open("/dev/null", O_RDONLY);
    ::dup2(in, 0);
    ::dup2(out, 1);
    ::dup2(out, 2);
    ::execv(argv[0], argv.data());
    ::_exit(127);
  }
  ~Program() {
    if (pid_ <= 0) return;
    ::kill(pid_, SIGTERM);
    wait();
  }
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  // Waits for its end; its exit code, or -1.
  int wait() {
    int status = 0;
    if (pid_ <= 0 || ::waitpid(pid_, &status, 0) != pid_) return -1;
    pid_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

 private:
  pid_t pid_ = -1;
};

// A port of loopback that was free a moment ago.
inline std::uint16_t free_port() {
  boost::asio::io_context context;
  const boost::asio::ip::tcp::acceptor acceptor(
      context, boost::asio::ip::tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0));
  return acceptor.local_endpoint().port();
}

inline std::string text_of_file(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

// Written beside and renamed: whoever serves it sees the old or the new, never a half.
inline void write_file(const std::filesystem::path& path, std::string_view text) {
  const std::filesystem::path beside = path.string() + ".new";
  {
    std::ofstream out(beside, std::ios::binary);
    out.write(text.data(), static_cast<std::streamsize>(text.size()));
  }
  std::filesystem::rename(beside, path);
}

}  // namespace rookery::test
