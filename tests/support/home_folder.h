// A station's home folder of a test's own, gone when the test is over.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <stdexcept>
#include <string>

namespace rookery::support {

class HomeFolder {
 public:
  HomeFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "rookery-test-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for the test: " + name);
    path_ = name;
  }
  ~HomeFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  HomeFolder(const HomeFolder&) = delete;
  HomeFolder& operator=(const HomeFolder&) = delete;

  const std::filesystem::path& path() const& { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace rookery::support
