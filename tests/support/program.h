// Runs real programs for tests: to their end, or in the background until the test is done with them.
#pragma once

#include <sys/types.h>

#include <chrono>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "tests/support/temp_folder.h"

namespace rookery::test {

struct Ended {
  int exit_code = -1;  // 128 + signal when a signal ended it
  std::string out;
  std::string err;
};

// Runs `words` (words[0] is looked for on the PATH) with `input` on standard input. Kills it after `limit`.
Ended run_program(const std::vector<std::string>& words, const std::string& input = {},
                  std::chrono::seconds limit = std::chrono::seconds(60));

// Whether a program of this name is on the PATH.
bool has_program(const std::string& name);

// A program that goes on while the test does something else. Killed by the destructor.
class Background {
 public:
  explicit Background(const std::vector<std::string>& words);
  ~Background();
  Background(const Background&) = delete;
  Background& operator=(const Background&) = delete;

  // The next line of its standard output; none when it ended or `limit` passed.
  std::optional<std::string> read_line(std::chrono::seconds limit = std::chrono::seconds(30));
  // Sends a signal and waits for the end. Returns the exit code as in Ended.
  int end(int signal);
  pid_t pid() const { return pid_; }
  // What it has written to standard error so far.
  std::string err() const;

 private:
  pid_t pid_ = -1;
  int out_ = -1;
  std::string buffer_;
  std::filesystem::path err_file_;
};

}  // namespace rookery::test
