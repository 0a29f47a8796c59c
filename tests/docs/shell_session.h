// A person's shell in a home of its own, in which the commands of one page are run.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "base/time.h"
#include "tests/cli/test_board.h"
#include "tests/docs/markdown.h"
#include "tests/support/program.h"
#include "tests/support/temp_folder.h"

namespace rookery::test {

// `rookery` is on the PATH and `./run` in the current folder: both are the built program. A line that serves
// runs in the background, and the lines after it find its station. $PASSWORD is set. Each function fails the
// running test when something does not come out as the page says.
class ShellSession {
 public:
  ShellSession();
  ~ShellSession();
  ShellSession(const ShellSession&) = delete;
  ShellSession& operator=(const ShellSession&) = delete;

  // Makes true what a "given: …" mark says. Unknown ones fail the test.
  void provide(const std::string& given);
  // Runs a block's lines; each has to succeed, and each file that they write has to be what its name says.
  void run(const Block& block);
  // Whatever the page started: every camera with a stream is being recorded, and the station ends well.
  void end();

 private:
  Ended run_lines(const std::string& script);
  void serve(const std::string& line);
  void wait_until_recorded();
  std::vector<std::string> shell(const std::string& script) const;
  // The page's example values become those of this test: addresses of a board and of the station, a span of
  // time.
  std::string with_real_values(std::string text) const;
  void check_files(const std::string& script) const;

  TempFolder folder_;
  std::filesystem::path desk_ = folder_.path() / "desk";                   // where the person is
  std::string home_ = (folder_.path() / ".local/share/rookery").string();  // of the station
  TestBoard board_;
  base::WallTime began_ = base::SystemClock().wall();
  std::unique_ptr<Background> station_;
  std::string station_address_;  // "127.0.0.1:PORT"
};

}  // namespace rookery::test
