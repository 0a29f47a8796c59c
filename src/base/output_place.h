// Where a person wants output to go, as named on the command line.
#pragma once

#include <filesystem>
#include <span>
#include <string_view>

#include "base/result.h"

namespace rookery::base {

// A place that was looked at before anything is written. A link is followed: the file that it leads to is
// replaced, whole or not at all (base/file.h). A device, a pipe, a socket, and a file that standard output or
// standard error goes to already, are written to as they are and never replaced. immutable value.
class OutputPlace {
 public:
  // `inputs` are what the output is made from, which it must not replace. Errors: invalid_value (no file's
  // name, a folder, one of the inputs under whatever name, links in a circle), no_permission, not_found.
  static Result<OutputPlace> find(const std::filesystem::path& asked,
                                  std::span<const std::filesystem::path> inputs = {});

  // Writes `content`; a new file gets the permissions `mode` (octal). Errors: those of write_durably.
  Result<void> write(std::string_view content, unsigned mode) const;

  // As named.
  const std::filesystem::path& asked() const& { return asked_; }
  // Where the file is or will be, links followed; the name as it was asked for when it is written in place.
  const std::filesystem::path& target() const& { return target_; }
  // Whether it is written to as it is, because it is no plain file.
  bool in_place() const { return in_place_; }
  // Whether something is there already.
  bool exists() const { return exists_; }

 private:
  explicit OutputPlace(std::filesystem::path asked) : asked_(std::move(asked)), target_(asked_) {}

  std::filesystem::path asked_;
  std::filesystem::path target_;
  bool in_place_ = false;
  bool exists_ = false;
};

}  // namespace rookery::base
