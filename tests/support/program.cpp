#include "tests/support/program.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <stdexcept>

extern char** environ;

namespace rookery::test {
namespace {

using Clock = std::chrono::steady_clock;

std::string read_file(const std::filesystem::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

pid_t spawn(const std::vector<std::string>& words, int in, int out, int err) {
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, in, 0);
  posix_spawn_file_actions_adddup2(&actions, out, 1);
  posix_spawn_file_actions_adddup2(&actions, err, 2);
  std::vector<char*> argv;
  for (const std::string& word : words) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  // A shell's background jobs ignore SIGINT, and so would the program when the tests are one.
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t heard;
  sigemptyset(&heard);
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) sigaddset(&heard, signal);
  posix_spawnattr_setsigdefault(&attributes, &heard);
  posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGDEF);
  pid_t pid = -1;
  const int code = posix_spawnp(&pid, argv[0], &actions, &attributes, argv.data(), environ);
  posix_spawnattr_destroy(&attributes);
  posix_spawn_file_actions_destroy(&actions);
  if (code != 0) throw std::runtime_error("cannot start " + words.at(0));
  return pid;
}

int code_of(int status) { return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status); }

int open_for(const std::filesystem::path& path, int flags) {
  return ::open(path.c_str(), flags | O_CLOEXEC, 0600);
}

}  // namespace

Ended run_program(const std::vector<std::string>& words, const std::string& input,
                  std::chrono::seconds limit) {
  const TempFolder folder;
  std::ofstream(folder.path() / "in") << input;
  const int in = open_for(folder.path() / "in", O_RDONLY);
  const int out = open_for(folder.path() / "out", O_RDWR | O_CREAT);
  const int err = open_for(folder.path() / "err", O_RDWR | O_CREAT);
  const pid_t pid = spawn(words, in, out, err);
  // A pidfd becomes readable when the process ends: a wait with a limit, without polling.
  int status = 0;
  const int pidfd = static_cast<int>(::syscall(SYS_pidfd_open, pid, 0));
  pollfd wait{pidfd, POLLIN, 0};
  const auto limit_ms = std::chrono::duration_cast<std::chrono::milliseconds>(limit).count();
  if (pidfd >= 0 && ::poll(&wait, 1, static_cast<int>(limit_ms)) == 0) ::kill(pid, SIGKILL);
  ::waitpid(pid, &status, 0);
  for (int fd : {in, out, err, pidfd}) {
    if (fd >= 0) ::close(fd);
  }
  return Ended{code_of(status), read_file(folder.path() / "out"), read_file(folder.path() / "err")};
}

bool has_program(const std::string& name) {
  std::istringstream folders(std::getenv("PATH") != nullptr ? std::getenv("PATH") : "");
  for (std::string folder; std::getline(folders, folder, ':');) {
    if (::access((folder + "/" + name).c_str(), X_OK) == 0) return true;
  }
  return ::access(("/usr/sbin/" + name).c_str(), X_OK) == 0;
}

Background::Background(const std::vector<std::string>& words) {
  std::array<int, 2> pipe{};
  if (::pipe2(pipe.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  std::string err_pattern = (std::filesystem::temp_directory_path() / "rookery-err-XXXXXX").string();
  const int err = ::mkostemp(err_pattern.data(), O_CLOEXEC);
  err_file_ = err_pattern;
  const int in = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
  pid_ = spawn(words, in, pipe[1], err);
  ::close(in);
  ::close(err);
  ::close(pipe[1]);
  out_ = pipe[0];
}

Background::~Background() {
  if (pid_ > 0) end(SIGKILL);
  ::close(out_);
  std::error_code ignored;
  std::filesystem::remove(err_file_, ignored);
}

std::optional<std::string> Background::read_line(std::chrono::seconds limit) {
  const auto until = Clock::now() + limit;
  for (;;) {
    if (const auto end = buffer_.find('\n'); end != std::string::npos) {
      std::string line = buffer_.substr(0, end);
      buffer_.erase(0, end + 1);
      return line;
    }
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until - Clock::now()).count();
    pollfd wait{out_, POLLIN, 0};
    if (left <= 0 || ::poll(&wait, 1, static_cast<int>(left)) <= 0) return std::nullopt;
    std::array<char, 4096> bytes{};
    const ssize_t got = ::read(out_, bytes.data(), bytes.size());
    if (got <= 0) return std::nullopt;
    buffer_.append(bytes.data(), static_cast<std::size_t>(got));
  }
}

int Background::end(int signal) {
  if (pid_ <= 0) return -1;
  int status = 0;
  ::kill(pid_, signal);
  ::waitpid(pid_, &status, 0);
  pid_ = -1;
  return code_of(status);
}

std::string Background::err() const { return read_file(err_file_); }

}  // namespace rookery::test
