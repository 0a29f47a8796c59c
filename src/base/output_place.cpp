#include "base/output_place.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <optional>
#include <system_error>

#include <fmt/format.h>

#include "base/descriptor.h"
#include "base/file.h"

namespace rookery::base {
namespace {

constexpr int kMostLinks = 40;  // as many as Linux follows (path_resolution(7))

bool same_file(const struct stat& one, const struct stat& other) {
  return one.st_dev == other.st_dev && one.st_ino == other.st_ino;
}

Error no_name(const std::filesystem::path& asked) {
  return {ErrorCode::invalid_value, "output", fmt::format("\"{}\" is no file's name", asked.string()),
          "Name the file, such as sheet.html."};
}

// The file that a chain of links ends in, be it there or not. The kernel would follow them as well, but what
// gets a new file under its name must be the last of them.
Result<std::filesystem::path> behind_links(const std::filesystem::path& asked) {
  std::filesystem::path out = asked;
  for (int links = 0; links < kMostLinks; ++links) {
    std::error_code failure;
    if (!std::filesystem::is_symlink(std::filesystem::symlink_status(out, failure))) return out;
    const std::filesystem::path next = std::filesystem::read_symlink(out, failure);
    if (failure) return file_error(failure.value(), "output", asked);
    out = next.is_absolute() ? next : out.parent_path() / next;
  }
  return file_error(ELOOP, "output", asked);
}

// Standard output or standard error, when `file` is what one of them goes to: replacing it would send what
// is printed into a file without a name.
std::optional<int> standard_descriptor(const struct stat& file) {
  for (const int descriptor : {STDOUT_FILENO, STDERR_FILENO}) {
    struct stat status {};
    if (::fstat(descriptor, &status) == 0 && same_file(status, file)) return descriptor;
  }
  return std::nullopt;
}

}  // namespace

Result<OutputPlace> OutputPlace::find(const std::filesystem::path& asked,
                                      std::span<const std::filesystem::path> inputs) {
  const std::filesystem::path name = asked.filename();
  if (name.empty() || name == "." || name == "..") return no_name(asked);
  OutputPlace place(asked);
  struct stat status {};
  place.exists_ = ::stat(asked.c_str(), &status) == 0;
  if (!place.exists_ && errno != ENOENT) return file_error(errno, "output", asked);
  if (place.exists_ && S_ISDIR(status.st_mode)) return file_error(EISDIR, "output", asked);
  for (const std::filesystem::path& input : inputs) {
    struct stat read {};
    if (!place.exists_ || ::stat(input.c_str(), &read) != 0 || !S_ISREG(read.st_mode)) continue;
    if (!same_file(status, read)) continue;
    return Error(
        ErrorCode::invalid_value, "output",
        fmt::format("{} is {} itself, which the output is made from", asked.string(), input.string()),
        "Choose another name.");
  }
  place.in_place_ = place.exists_ && (!S_ISREG(status.st_mode) || standard_descriptor(status).has_value());
  if (place.in_place_) return place;
  auto target = behind_links(asked);
  if (!target) return target.error();
  struct stat there {};
  // A link of /proc may lead to a file that has lost its name.
  place.in_place_ = place.exists_ && (::stat(target->c_str(), &there) != 0 || !same_file(status, there));
  if (!place.in_place_) place.target_ = std::move(*target);
  return place;
}

Result<void> OutputPlace::write(std::string_view content, unsigned mode) const {
  if (!in_place_) return write_durably(target_, content, mode);
  struct stat status {};
  if (::stat(asked_.c_str(), &status) != 0) return file_error(errno, "output", asked_);
  if (const auto standard = standard_descriptor(status)) return write_all(*standard, content, asked_);
  const Descriptor file(::open(asked_.c_str(), O_WRONLY | O_TRUNC | O_NOCTTY | O_CLOEXEC));
  if (!file) return file_error(errno, "output", asked_);
  return write_all(file.get(), content, asked_);
}

}  // namespace rookery::base
