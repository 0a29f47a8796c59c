// The coroutine rule (HACKING.md), as far as it shows in the text: name it, then await it; and what a
// coroutine takes by reference, it was lent by someone who awaits it.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

namespace {

std::string read(const std::filesystem::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<std::filesystem::path> sources() {
  std::vector<std::filesystem::path> out;
  for (const char* folder : {"src", "sim"}) {
    const std::filesystem::path root = std::filesystem::path(SOURCE_ROOT) / folder;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(root)) {
      const auto extension = entry.path().extension();
      if (extension == ".h" || extension == ".cpp") out.push_back(entry.path());
    }
  }
  return out;
}

// What is awaited without having a name: the rest of each such line.
std::vector<std::string> nameless_awaits(const std::string& text) {
  std::vector<std::string> found;
  const std::regex named(R"((std::move\(\w+\)|(boost::)?asio::this_coro::)[^\n]*)");
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    const std::string code = line.substr(0, line.find("//"));
    const std::size_t at = code.find("co_await ");
    if (at == std::string::npos) continue;
    const std::string awaited = code.substr(at + std::string("co_await ").size());
    if (!std::regex_match(awaited, named)) found.push_back(awaited);
  }
  return found;
}

// Coroutines that take a reference without a word (a comment above them with "Lent: …") on who holds it.
std::vector<std::string> unlent_references(const std::string& text) {
  const std::regex beginning(R"(^\s*[\w:].*\b[Aa]waitable<.*>\s+[\w:]+\()");
  const std::regex reference(R"([^&]&\s*\w)");
  std::vector<std::string> found;
  bool lent = false;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    const std::size_t indent = line.find_first_not_of(' ');
    const bool above = indent != std::string::npos &&
                       (line.compare(indent, 2, "//") == 0 || line.compare(indent, 8, "template") == 0);
    if (above) {
      lent = lent || line.find("// Lent: ") != std::string::npos;
      continue;
    }
    std::smatch match;
    if (line.find("waitable<") != std::string::npos && std::regex_search(line, match, beginning)) {
      std::string parameters = match.suffix();
      while (parameters.find_first_of("{;") == std::string::npos && std::getline(lines, line))
        parameters += line;
      const bool defines = parameters.find('{') < parameters.find(';');
      parameters = parameters.substr(0, parameters.find('{'));
      if (defines && !lent && std::regex_search(parameters, reference)) found.push_back(parameters);
    }
    lent = false;
  }
  return found;
}

TEST(Coroutines, AwaitWhatHasAName) {
  EXPECT_EQ(nameless_awaits("  auto got = co_await std::move(reading);\n").size(), 0U);
  EXPECT_EQ(nameless_awaits("  x(co_await asio::this_coro::executor, 1);  // co_await f() is worse\n").size(),
            0U);
  EXPECT_EQ(nameless_awaits("  if (a && !co_await f(Agg{s, 3})) co_return;\n").size(), 1U);
  for (const auto& path : sources()) {
    for (const std::string& awaited : nameless_awaits(read(path))) {
      ADD_FAILURE() << path.lexically_relative(SOURCE_ROOT) << " awaits what has no name: " << awaited;
    }
  }
}

TEST(Coroutines, TakeReferencesOnlyWhereItIsSaidWhoHoldsThem) {
  EXPECT_EQ(unlent_references("asio::awaitable<int> f(\n    Call& call) {\n").size(), 1U);
  EXPECT_EQ(unlent_references("// Lent: by g.\nasio::awaitable<int> f(Call& call) {\n").size(), 0U);
  EXPECT_EQ(unlent_references("// Lent: by g.\n\nasio::awaitable<int> f(Call& call) {\n").size(), 1U);
  EXPECT_EQ(unlent_references("asio::awaitable<int> f(Call& call);\n").size(), 0U);
  EXPECT_EQ(unlent_references("asio::awaitable<std::vector<int>> A::f(Call call, int n) {\n").size(), 0U);
  for (const auto& path : sources()) {
    for (const std::string& head : unlent_references(read(path))) {
      ADD_FAILURE() << path.lexically_relative(SOURCE_ROOT) << " does not say who lends: " << head;
    }
  }
}

}  // namespace
