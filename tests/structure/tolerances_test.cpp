// docs/tolerances.md promises a test for each row: every name that it gives is a test that exists.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
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

// "MultipartReader.BareLineFeeds" of every TEST in the tree; parameterised ones as "Suite.Name" too.
std::set<std::string> tests_there_are() {
  std::set<std::string> names;
  const std::regex test(R"(\bTEST(?:_F|_P)?\((\w+),\s*(\w+)\))");
  for (const auto& entry :
       std::filesystem::recursive_directory_iterator(std::filesystem::path(SOURCE_ROOT) / "tests")) {
    if (entry.path().extension() != ".cpp") continue;
    const std::string text = read(entry.path());
    for (std::sregex_iterator it(text.begin(), text.end(), test), end; it != end; ++it)
      names.insert((*it)[1].str() + "." + (*it)[2].str());
  }
  return names;
}

struct Row {
  std::string section;
  std::vector<std::string> tests;  // as the last cell names them
};

std::vector<Row> rows_of(const std::string& text) {
  std::vector<Row> rows;
  std::istringstream lines(text);
  std::string section;
  const std::regex quoted("`([^`]+)`");
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("## ")) section = line.substr(3);
    if (!line.starts_with("| ") || line.starts_with("| ---") || line.starts_with("| oddity")) continue;
    const std::size_t last = line.rfind('|');
    const std::string cell = line.substr(line.rfind('|', last - 1));
    Row row{section, {}};
    for (std::sregex_iterator it(cell.begin(), cell.end(), quoted), end; it != end; ++it)
      row.tests.push_back((*it)[1]);
    rows.push_back(row);
  }
  return rows;
}

TEST(Tolerances, EveryRowNamesATestThatThereIs) {
  const std::set<std::string> tests = tests_there_are();
  const std::vector<Row> rows = rows_of(read(std::filesystem::path(SOURCE_ROOT) / "docs/tolerances.md"));
  ASSERT_GT(rows.size(), 40U);
  for (const Row& row : rows) {
    EXPECT_FALSE(row.tests.empty()) << "a row without a test in: " << row.section;
    for (std::string name : row.tests) {
      if (const auto slash = name.find('/'); slash != std::string::npos) name.erase(0, slash + 1);
      const std::string suite = row.section == "Pictures" ? "JpegWalk." : "MultipartReader.";
      if (name.find('.') == std::string::npos) name = suite + name;
      EXPECT_TRUE(tests.contains(name)) << name << " in: " << row.section;
    }
  }
}

}  // namespace
