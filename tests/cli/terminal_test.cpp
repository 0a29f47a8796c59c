// What commands print on a terminal of a width, and that nothing of it goes into files and pipes.
#include <gtest/gtest.h>

#include <fcntl.h>
#include <pty.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <sstream>

#include "tests/cli/rookery_program.h"
#include "tests/support/needs.h"

namespace rookery::test {
namespace {

const std::string kLog =
    "rst:0xc (SW_CPU_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)\r\nI (2090) wifi: on\r\n"
    "Brownout detector was triggered\r\n\r\n";

// Without colours; CRs are the terminal's.
std::string plain(const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\x1b') {
      i = text.find('m', i);
    } else if (text[i] != '\r') {
      out += text[i];
    }
  }
  return out;
}

std::size_t widest(const std::string& text) {
  std::size_t out = 0;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    const auto characters = std::ranges::count_if(line, [](char c) { return (c & 0xc0) != 0x80; });
    out = std::max(out, static_cast<std::size_t>(characters));
  }
  return out;
}

class OnATerminal : public testing::Test {
 protected:
  void SetUp() override { ROOKERY_NEEDS_PROGRAM("python3", "python3"); }
  Ended run(int columns, std::vector<std::string> words, std::vector<std::string> before = {}) const {
    std::vector<std::string> all{"env", "TERM=xterm", "python3",
                                 std::string(SOURCE_ROOT) + "/tests/cli/in_terminal.py",
                                 std::to_string(columns)};
    all.insert(all.end(), before.begin(), before.end());
    all.push_back(ROOKERY_PROGRAM);
    all.insert(all.end(), words.begin(), words.end());
    return run_program(all);
  }
  std::string log() const {
    const auto path = folder_.path() / "boot.log";
    std::ofstream(path, std::ios::binary) << kLog << kLog << kLog << kLog;
    return path.string();
  }
  TempFolder folder_;
};

TEST_F(OnATerminal, ListenBreaksItsLinesAtTheWidthAndBetweenWords) {
  for (const int width : {120, 80, 40}) {
    const Ended ended = run(width, {"listen", log()});
    EXPECT_EQ(ended.exit_code, 1) << ended.out;
    const std::string text = plain(ended.out);
    EXPECT_LE(widest(text), static_cast<std::size_t>(width)) << text;
    std::string joined;  // as one paragraph again
    std::istringstream words(text);
    for (std::string word; words >> word;) joined += word + ' ';
    EXPECT_NE(joined.find("Verdict: restarts every 2.1 s by brown-out (3 starts)"), std::string::npos)
        << text;
    EXPECT_NE(joined.find("rst:0xc (SW_CPU_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)"), std::string::npos)
        << text;
  }
}

TEST_F(OnATerminal, ColoursAreForTerminalsThatWantThem) {
  EXPECT_NE(run(80, {"listen", log()}).out.find("\x1b[1;33mVerdict: "), std::string::npos);
  const Ended piped = run_program({ROOKERY_PROGRAM, "listen", log()});
  EXPECT_EQ(piped.out.find('\x1b'), std::string::npos);
  EXPECT_GT(widest(piped.out), 80U) << "what goes into a file is not broken";
  const Ended without = run_program({"env", "TERM=xterm", "NO_COLOR=1", "python3",
                                     std::string(SOURCE_ROOT) + "/tests/cli/in_terminal.py", "80",
                                     ROOKERY_PROGRAM, "listen", log()});
  EXPECT_EQ(without.out.find('\x1b'), std::string::npos);
}

TEST_F(OnATerminal, AfterCtrlCTheVerdictStandsOnALineOfItsOwn) {
  std::array<char, 128> port{};
  int board = -1, line = -1;
  ASSERT_EQ(::openpty(&board, &line, port.data(), nullptr, nullptr), 0);
  ::close(line);
  ::fcntl(board, F_SETFD, FD_CLOEXEC);
  const Ended ended = run(80, {"listen", port.data(), "--rate", "115200"}, {"-c"});
  ::close(board);
  EXPECT_EQ(ended.exit_code, 1) << ended.out;
  EXPECT_NE(plain(ended.out).find("^C\nVerdict: "), std::string::npos) << plain(ended.out);
}

}  // namespace
}  // namespace rookery::test
