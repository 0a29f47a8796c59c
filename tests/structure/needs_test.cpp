// Where everything is installed, a test that lacks something fails: all say what they need by one macro.
#include "tests/support/needs.h"

#include <gtest/gtest-spi.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>

namespace rookery::support {
namespace {

// The variable with that value, or without; as it was when this dies.
class Variable {
 public:
  Variable(const char* name, const char* value) : name_(name) {
    if (const char* was = std::getenv(name)) was_ = was;
    set(value);
  }
  ~Variable() { set(was_ ? was_->c_str() : nullptr); }
  Variable(const Variable&) = delete;
  Variable& operator=(const Variable&) = delete;

 private:
  void set(const char* value) const {
    if (value != nullptr) {
      ::setenv(name_, value, 1);
    } else {
      ::unsetenv(name_);
    }
  }
  const char* name_;
  std::optional<std::string> was_;
};

void needs_a_thing() { ROOKERY_NEEDS_PROGRAM("no-such-program-anywhere", "nothing"); }

TEST(Needs, WhereAllIsInstalledWhatIsMissingIsAFailure) {
  const Variable all_there("ROOKERY_ALL_THERE", "1");
  EXPECT_FATAL_FAILURE(needs_a_thing(), "no-such-program-anywhere is not installed (Debian package nothing)");
}

TEST(Needs, ElsewhereItIsSkipped) {
  const Variable not_all_there("ROOKERY_ALL_THERE", nullptr);
  testing::TestPartResultArray results;
  {
    testing::ScopedFakeTestPartResultReporter reporter(&results);
    needs_a_thing();
  }
  ASSERT_EQ(results.size(), 1);
  EXPECT_TRUE(results.GetTestPartResult(0).skipped());
}

TEST(Needs, NoTestSkipsByItself) {
  const std::filesystem::path root(SOURCE_ROOT);
  const std::string skip =
      "GTEST_"
      "SKIP";
  for (const char* folder : {"tests", "bench", "fuzz"}) {
    for (const auto& entry : std::filesystem::recursive_directory_iterator(root / folder)) {
      const auto ending = entry.path().extension();
      if ((ending != ".cpp" && ending != ".h") || entry.path().filename() == "needs.h") continue;
      std::ifstream in(entry.path());
      const std::string text{std::istreambuf_iterator<char>(in), {}};
      EXPECT_EQ(text.find(skip), std::string::npos) << entry.path() << ": use tests/support/needs.h";
    }
  }
}

}  // namespace
}  // namespace rookery::support
