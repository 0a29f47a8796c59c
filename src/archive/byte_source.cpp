#include "archive/byte_source.h"

#include <cerrno>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "archive/disk.h"

namespace rookery::archive {

std::size_t MemorySource::read_at(std::uint64_t offset, std::span<std::byte> out) const {
  if (offset >= bytes_.size()) return 0;
  const std::size_t count = std::min<std::size_t>(out.size(), bytes_.size() - offset);
  std::memcpy(out.data(), bytes_.data() + offset, count);
  return count;
}

base::Result<FileSource> FileSource::open(const std::filesystem::path& file) {
  base::Descriptor handle{::open(file.c_str(), O_RDONLY | O_CLOEXEC)};
  if (!handle) return disk_error(file.string() + ": open", errno);
  return FileSource{std::move(handle)};
}

std::uint64_t FileSource::size() const {
  struct stat now {};
  return ::fstat(handle_.get(), &now) == 0 ? static_cast<std::uint64_t>(now.st_size) : 0;
}

std::size_t FileSource::read_at(std::uint64_t offset, std::span<std::byte> out) const {
  std::size_t done = 0;
  while (done < out.size()) {
    const ssize_t count =
        ::pread(handle_.get(), out.data() + done, out.size() - done, static_cast<off_t>(offset + done));
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) break;
    done += static_cast<std::size_t>(count);
  }
  return done;
}

}  // namespace rookery::archive
