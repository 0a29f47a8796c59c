#include "tests/docs/shell_session.h"

#include <gtest/gtest.h>
#include <signal.h>

#include <cstdlib>
#include <fstream>
#include <regex>
#include <sstream>

#include <boost/json.hpp>

namespace rookery::test {
namespace {

// The demo waits up to a minute for its first pictures before it prints its address.
constexpr std::chrono::seconds kDeadline{90};
constexpr const char* kStationExample = "127.0.0.1:7420";

bool serves(const std::string& line) {
  static const std::regex command(R"(^(rookery|\./run) (serve|demo)\b.*$|^\./run$)");
  return std::regex_match(line, command);
}

void replace_all(std::string& text, const std::string& from, const std::string& to) {
  for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
    text.replace(at, from.size(), to);
}

// The first bytes of the kinds of file that the pages write.
std::string first_bytes(const std::filesystem::path& file) {
  if (file.extension() == ".jpg") return "\xFF\xD8";
  if (file.extension() == ".mkv") return "\x1A\x45\xDF\xA3";
  return {};
}

}  // namespace

ShellSession::ShellSession() {
  std::filesystem::create_directories(desk_);
  std::filesystem::create_directories(folder_.path() / "bin");
  std::filesystem::create_symlink(ROOKERY_PROGRAM, folder_.path() / "bin" / "rookery");
  // The real ./run builds first; without words it shows the demo.
  std::ofstream(desk_ / "run") << "#!/bin/sh\n[ $# -gt 0 ] || set -- demo\nexec rookery \"$@\"\n";
  std::filesystem::permissions(desk_ / "run", std::filesystem::perms::owner_all);
  // The usual port may be taken by a station of somebody's own.
  std::filesystem::create_directories(home_);
  std::ofstream(std::filesystem::path(home_) / "rookery.toml") << "listen = \"127.0.0.1:0\"\n";
}

ShellSession::~ShellSession() = default;

std::vector<std::string> ShellSession::shell(const std::string& script) const {
  const std::string path = std::getenv("PATH") != nullptr ? std::getenv("PATH") : "";
  return {"env",
          "-u",
          "ROOKERY_HOME",
          "-u",
          "XDG_DATA_HOME",
          "HOME=" + folder_.path().string(),
          "PATH=" + (folder_.path() / "bin").string() + ":" + path,
          "PASSWORD=saltmarsh reeds",
          "bash",
          "-c",
          "set -euo pipefail; cd '" + desk_.string() + "'\n" + script};
}

std::string ShellSession::with_real_values(std::string text) const {
  replace_all(text, "http://192.0.2.17:81/stream", board_.address());
  replace_all(text, "http://192.0.2.17/still", board_.still_address());
  replace_all(text, "2026-03-01T12:00:00Z", base::to_rfc3339(began_ - std::chrono::minutes(1)));
  replace_all(text, "2026-03-01T12:10:00Z", base::to_rfc3339(began_ + std::chrono::minutes(9)));
  if (text.find(kStationExample) != std::string::npos) {
    EXPECT_NE(station_, nullptr) << "asks a station that nothing has started";
    replace_all(text, kStationExample, station_address_);
  }
  return text;
}

Ended ShellSession::run_lines(const std::string& script) {
  const std::string real = with_real_values(script);
  Ended ended = run_program(shell(real));
  EXPECT_EQ(ended.exit_code, 0) << real << ended.out << ended.err << (station_ ? station_->err() : "");
  if (ended.exit_code == 0) check_files(real);
  return ended;
}

void ShellSession::check_files(const std::string& script) const {
  static const std::regex output(R"(\s-o (\S+))");
  for (std::sregex_iterator it(script.begin(), script.end(), output), end; it != end; ++it) {
    const auto file = desk_ / (*it)[1].str();
    if (std::filesystem::is_directory(file)) {
      EXPECT_FALSE(std::filesystem::is_empty(file)) << file << "\n" << script;
      continue;
    }
    std::ifstream in(file, std::ios::binary);
    const std::string bytes{std::istreambuf_iterator<char>(in), {}};
    EXPECT_GT(bytes.size(), 100U) << file << "\n" << script;
    EXPECT_TRUE(bytes.starts_with(first_bytes(file))) << file << "\n" << script << bytes.substr(0, 200);
  }
}

void ShellSession::serve(const std::string& line) {
  ASSERT_EQ(station_, nullptr) << "a page starts one station";
  if (line.find("serve") == std::string::npos) home_ += "-demo";  // the demo has a home of its own
  station_ = std::make_unique<Background>(shell("exec " + with_real_values(line)));
  static const std::regex address(R"(.*http://(127\.0\.0\.1:\d+).*)");
  std::smatch found;
  std::string said;
  while (station_address_.empty()) {
    const auto next = station_->read_line(kDeadline);
    ASSERT_TRUE(next.has_value()) << line << "\n" << said << station_->err();
    said += *next + "\n";
    if (std::regex_match(*next, found, address)) station_address_ = found[1];
  }
}

void ShellSession::run(const Block& block) {
  std::string script;
  for (const std::string& line : block.lines) {
    std::string command = line.substr(0, line.find(" #"));
    command.erase(command.find_last_not_of(' ') + 1);
    if (!serves(command)) {
      script += line + "\n";
      continue;
    }
    run_lines(script);
    script.clear();
    serve(command);
    if (testing::Test::HasFatalFailure()) return;
  }
  if (!script.empty()) run_lines(script);
}

void ShellSession::provide(const std::string& given) {
  if (given == "a station that records anvil") {
    if (station_ != nullptr) return;  // from an earlier block
    run_lines("rookery camera add anvil http://192.0.2.17:81/stream");
    serve("rookery serve");
    if (station_address_.empty()) return;
    wait_until_recorded();
    return;
  }
  ADD_FAILURE() << "nothing is known of \"" << given << "\"";
}

// Asks the command line until each camera with a stream has something on disk.
void ShellSession::wait_until_recorded() {
  std::string last;
  const auto until = std::chrono::steady_clock::now() + kDeadline;
  while (std::chrono::steady_clock::now() < until) {
    last = run_program(shell("rookery camera list --json --home '" + home_ + "'")).out;
    std::istringstream lines(last);
    std::size_t cameras = 0, recorded = 0;
    for (std::string line; std::getline(lines, line);) {
      const auto camera = boost::json::parse(line).as_object();
      if (camera.at("source").as_string() != "stream") continue;
      ++cameras;
      if (camera.at("recorded_bytes").as_int64() > 0) ++recorded;
    }
    if (cameras > 0 && recorded == cameras) return;
  }
  ADD_FAILURE() << "not every camera is recorded:\n" << last << station_->err();
}

void ShellSession::end() {
  if (station_ == nullptr) return;
  wait_until_recorded();
  EXPECT_EQ(station_->end(SIGTERM), 0) << station_->err();
}

}  // namespace rookery::test
