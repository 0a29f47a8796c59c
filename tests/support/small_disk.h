// A disk of a fixed size (tmpfs), for what happens when it is full. Only root may mount one: a test skips
// with `refusal()` where it is not mounted.
#pragma once

#include <fcntl.h>
#include <sys/mount.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <string>

#include "tests/support/home_folder.h"

namespace rookery::support {

class SmallDisk {
 public:
  explicit SmallDisk(std::size_t bytes) {
    const std::string options = "size=" + std::to_string(bytes);
    if (::mount("tmpfs", path().c_str(), "tmpfs", 0, options.c_str()) != 0) {
      refusal_ = std::string("a small disk cannot be mounted here: ") + std::strerror(errno);
    }
  }
  ~SmallDisk() {
    if (mounted()) ::umount2(path().c_str(), MNT_DETACH);
  }

  bool mounted() const { return refusal_.empty(); }
  const std::string& refusal() const& { return refusal_; }
  const std::filesystem::path& path() const& { return folder_.path(); }

  // Takes all the room that is left, but for `spare_bytes`; `make_room` gives it back.
  void fill(std::size_t spare_bytes = 0) {
    const auto left = std::filesystem::space(path()).available;
    const int file = ::open(filler().c_str(), O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    if (file < 0) return;
    const std::string block(4096, 'x');
    for (std::uintmax_t done = 0; done + block.size() + spare_bytes <= left; done += block.size()) {
      if (::write(file, block.data(), block.size()) <= 0) break;
    }
    ::close(file);
  }
  void make_room() { std::filesystem::remove(filler()); }

 private:
  std::filesystem::path filler() const { return path() / "filler"; }
  HomeFolder folder_;
  std::string refusal_;
};

}  // namespace rookery::support
