// Inner: a file that appears only when it is whole, under a temporary name beside it until then.
#pragma once

#include <filesystem>

#include "base/result.h"

namespace rookery::archive {

enum class Existing {
  refuse,   // a file of that name that is there meanwhile is an error
  replace,  // it is replaced in one step
};

// Gone when destroyed, unless it appeared. What a crash leaves behind is hidden and ends in .part; the next
// one of the same name takes it away, from ten minutes on.
class WholeFile {
 public:
  // `where`: what errors say was being done, behind the file's name ("export").
  WholeFile(std::filesystem::path file, Existing existing, std::string where);
  ~WholeFile();
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;

  // Makes it, empty: where that fails there is no use in working. It is locked until this is destroyed, and
  // those of the same name that nobody has locked or written to of late are removed. Errors: those of the
  // disk.
  base::Result<void> make();
  // What to write to.
  const std::filesystem::path& path() const& { return path_; }

  // Success is told only of what a power cut cannot take back: the bytes first, then the name. Errors:
  // already_exists, those of the disk.
  base::Result<void> appear();

 private:
  base::Result<void> sync_file() const;
  base::Result<void> give_name() const;
  void remove_left_behind() const;

  const std::filesystem::path final_;
  const std::filesystem::path path_;
  const Existing existing_;
  const std::string where_;
  int lock_ = -1;
};

}  // namespace rookery::archive
