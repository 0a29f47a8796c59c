// The built program with a home of its own, for the tests of the command line.
#pragma once

#include <boost/json.hpp>

#include "tests/support/program.h"

namespace rookery::test {

// `rookery WORDS… --home <temporary folder>`.
class Home {
 public:
  Ended run(std::vector<std::string> words, const std::string& input = {}) const {
    words.insert(words.begin(), ROOKERY_PROGRAM);
    words.insert(words.end(), {"--home", path().string()});
    return run_program(words, input);
  }
  // With --json: every line of the output as JSON.
  std::vector<boost::json::object> run_json(std::vector<std::string> words,
                                            const std::string& input = {}) const {
    words.emplace_back("--json");
    std::vector<boost::json::object> lines;
    std::istringstream text(run(std::move(words), input).out);
    for (std::string line; std::getline(text, line);) lines.push_back(boost::json::parse(line).as_object());
    return lines;
  }
  const std::filesystem::path& path() const { return home_; }

 private:
  TempFolder folder_;
  std::filesystem::path home_ = folder_.path() / "home";
};

}  // namespace rookery::test
