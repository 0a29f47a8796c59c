#include "tests/support/small_disk.h"

#include <fcntl.h>
#include <sched.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <vector>

extern char** environ;

namespace rookery::support {
namespace {

constexpr const char* kInNamespace = "ROOKERY_TEST_IN_NAMESPACE";
constexpr int kNoExec = 126;

bool mount_at(const char* path, const char* options) {
  return ::mount("tmpfs", path, "tmpfs", 0, options) == 0;
}

// Only calls that are safe between fork and exec.
bool write_text(const char* file, const char* text) {
  const int fd = ::open(file, O_WRONLY | O_CLOEXEC);
  if (fd < 0) return false;
  const auto size = std::strlen(text);
  const bool done = ::write(fd, text, size) == static_cast<ssize_t>(size);
  ::close(fd);
  return done;
}

// What a process needs to become root of namespaces of its own, put together before the fork.
struct Passage {
  std::string users = "0 " + std::to_string(::getuid()) + " 1";
  std::string groups = "0 " + std::to_string(::getgid()) + " 1";

  bool enter() const {
    if (::unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0) return false;
    if (!write_text("/proc/self/setgroups", "deny") && errno != ENOENT) return false;
    return write_text("/proc/self/uid_map", users.c_str()) &&
           write_text("/proc/self/gid_map", groups.c_str());
  }
};

// 0, or the errno with which a namespace or its mount was refused.
int try_namespace() {
  const Passage passage;
  const HomeFolder folder;
  const char* at = folder.path().c_str();
  const pid_t child = ::fork();
  if (child == 0) ::_exit(passage.enter() && mount_at(at, "size=64k") ? 0 : errno & 0x7f);
  int status = 0;
  if (child < 0 || ::waitpid(child, &status, 0) != child || !WIFEXITED(status)) return EIO;
  return WEXITSTATUS(status);
}

// Runs the current test, and nothing else, in namespaces of its own. Its exit code.
int run_in_namespace() {
  const auto* test = testing::UnitTest::GetInstance()->current_test_info();
  const Passage passage;
  const auto program = std::filesystem::read_symlink("/proc/self/exe").string();
  std::string filter = std::string("--gtest_filter=") + test->test_suite_name() + "." + test->name();
  std::string mark = std::string(kInNamespace) + "=1";
  std::vector<char*> arguments = {const_cast<char*>(program.c_str()), filter.data(), nullptr};
  std::vector<char*> environment;
  for (char** entry = environ; *entry != nullptr; ++entry) environment.push_back(*entry);
  environment.push_back(mark.data());
  environment.push_back(nullptr);
  const pid_t child = ::fork();
  if (child == 0) {
    if (passage.enter()) ::execve(program.c_str(), arguments.data(), environment.data());
    ::_exit(kNoExec);
  }
  int status = 0;
  if (child < 0 || ::waitpid(child, &status, 0) != child) return kNoExec;
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

// 0, or the errno with which it was refused.
int try_here() {
  const HomeFolder folder;
  if (!mount_at(folder.path().c_str(), "size=64k")) return errno;
  ::umount2(folder.path().c_str(), MNT_DETACH);
  return 0;
}

}  // namespace

SmallDisk::SmallDisk(std::size_t bytes) {
  const std::string options = "size=" + std::to_string(bytes);
  if (!mount_at(path().c_str(), options.c_str()))
    refusal_ = std::string("a small disk cannot be mounted here: ") + std::strerror(errno);
}

SmallDisk::~SmallDisk() {
  if (mounted()) ::umount2(path().c_str(), MNT_DETACH);
}

void SmallDisk::fill(std::size_t spare_bytes) {
  const auto left = std::filesystem::space(path()).available;
  const int file = ::open(filler().c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
  if (file < 0) return;
  const std::string block(4096, 'x');
  for (std::uintmax_t done = 0; done + block.size() + spare_bytes <= left; done += block.size()) {
    if (::write(file, block.data(), block.size()) <= 0) break;
  }
  ::close(file);
}

void SmallDisk::make_room() { std::filesystem::remove(filler()); }

SmallDiskPlace find_small_disk_place() {
  using Where = SmallDiskPlace::Where;
  // In the child the disk itself says what is wrong, rather than that a child starts another.
  if (std::getenv(kInNamespace) != nullptr) return {Where::here, {}};
  const int refused_here = try_here();
  if (refused_here == 0) return {Where::here, {}};
  if (const int refused = try_namespace(); refused != 0) {
    return {Where::nowhere, "a small disk can be mounted neither here (" +
                                std::string(std::strerror(refused_here)) + ") nor in a user namespace (" +
                                std::strerror(refused) + ")"};
  }
  const int code = run_in_namespace();
  return {Where::elsewhere,
          code == 0 ? std::string() : "in namespaces of its own the test ended with " + std::to_string(code)};
}

}  // namespace rookery::support
