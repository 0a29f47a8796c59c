// An include runs down only: a floor may include itself and what src/CMakeLists.txt says that it USES.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace {

using Floors = std::map<std::string, std::set<std::string>>;  // floor → floors that it may include

std::string read(const std::filesystem::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

// Reads "rookery_floor(name USES a b LINKS …)" lines and closes USES over itself. The order of the lines is
// the order of the floors: a USES that names a floor not seen yet runs up, and comes back in `upward`.
Floors read_floors(const std::string& cmake, std::vector<std::string>& upward) {
  Floors floors;
  const std::regex call(R"(rookery_floor\((\w+)([^)]*)\))");
  for (std::sregex_iterator it(cmake.begin(), cmake.end(), call), end; it != end; ++it) {
    const std::string name = (*it)[1];
    std::set<std::string>& may = floors[name];
    may.insert(name);
    std::istringstream words((*it)[2].str());
    bool in_uses = false;
    for (std::string word; words >> word;) {
      if (word == "USES" || word == "LINKS" || word == "ASIO") {
        in_uses = word == "USES";
      } else if (in_uses) {
        const auto below = floors.find(word);
        if (below == floors.end() || word == name) {
          upward.push_back(name + " USES " + word);
        } else {
          may.insert(below->second.begin(), below->second.end());
        }
      }
    }
  }
  return floors;
}

// The includes of `text` (a file of `floor`) that name a floor which it may not use.
std::vector<std::string> upward_includes(const Floors& floors, const std::string& floor,
                                         const std::string& text) {
  std::vector<std::string> found;
  const std::regex include(R"(#\s*include\s*["<]((\w+)/[\w./]+)[">])");
  for (std::sregex_iterator it(text.begin(), text.end(), include), end; it != end; ++it) {
    const std::string target = (*it)[2];
    const bool is_floor = floors.contains(target) || target == "sim" || target == "tests";
    if (is_floor && !floors.at(floor).contains(target)) found.push_back((*it)[1]);
  }
  return found;
}

TEST(IncludeFloors, RunDownOnly) {
  const std::filesystem::path source = std::filesystem::path(SOURCE_ROOT) / "src";
  std::vector<std::string> upward;
  const Floors floors = read_floors(read(source / "CMakeLists.txt"), upward);
  ASSERT_GE(floors.size(), 9U);
  EXPECT_TRUE(upward.empty()) << upward.front();
  std::size_t files = 0;
  for (const auto& [floor, may] : floors) {
    if (!std::filesystem::exists(source / floor)) continue;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(source / floor)) {
      const auto extension = entry.path().extension();
      if (extension != ".h" && extension != ".cpp") continue;
      ++files;
      for (const std::string& include : upward_includes(floors, floor, read(entry.path()))) {
        ADD_FAILURE() << entry.path().lexically_relative(source) << " includes " << include
                      << ", which is no floor below " << floor;
      }
    }
  }
  EXPECT_GT(files, 10U);
}

TEST(IncludeFloors, AnIncludeUpwardsIsFound) {
  std::vector<std::string> upward;
  const Floors floors = read_floors(
      "rookery_floor(base)\nrookery_floor(net USES base LINKS x ASIO)\nrookery_floor(web USES net)", upward);
  EXPECT_TRUE(upward.empty());
  EXPECT_EQ(upward_includes(floors, "net",
                            "#include \"web/server.h\"\n#include <vector>\n#include \"base/time.h\""),
            std::vector<std::string>{"web/server.h"});
  EXPECT_EQ(upward_includes(floors, "web", "#include \"sim/board.h\"\n#include \"base/time.h\""),
            std::vector<std::string>{"sim/board.h"});
}

TEST(IncludeFloors, ADependencyUpwardsIsFound) {
  std::vector<std::string> upward;
  read_floors("rookery_floor(base USES web)\nrookery_floor(web USES base)", upward);
  EXPECT_EQ(upward, std::vector<std::string>{"base USES web"});
}

}  // namespace
