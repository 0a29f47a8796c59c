// Where profiles are: in the program, and as files of the home.
#include <algorithm>

#include <fmt/format.h>

#include "base/file.h"
#include "camera/profile.h"

namespace rookery::camera {

using base::Error;
using base::ErrorCode;
using base::Result;

extern const unsigned char kTwoPortsBytes[];
extern const std::size_t kTwoPortsSize;
extern const unsigned char kOnePortBytes[];
extern const std::size_t kOnePortSize;
extern const unsigned char kStillsOnlyBytes[];
extern const std::size_t kStillsOnlySize;

namespace {

constexpr std::size_t kMostFile_bytes = 64 << 10;

bool is_profile_name(std::string_view name) {
  return !name.empty() && name.size() <= 63 && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  });
}

std::filesystem::path own_file(const std::filesystem::path& home, const std::string& name) {
  return home / "profiles" / (name + ".toml");
}

}  // namespace

std::vector<std::string> shipped_profiles() { return {"two-ports", "one-port", "stills-only"}; }

std::string_view shipped_profile_text(std::string_view name) {
  const auto text = [](const unsigned char* bytes, std::size_t size) {
    return std::string_view(reinterpret_cast<const char*>(bytes), size);
  };
  if (name == "two-ports") return text(kTwoPortsBytes, kTwoPortsSize);
  if (name == "one-port") return text(kOnePortBytes, kOnePortSize);
  if (name == "stills-only") return text(kStillsOnlyBytes, kStillsOnlySize);
  return {};
}

Result<Profile> find_profile(const std::filesystem::path& home, const std::string& name) {
  std::error_code failed;
  const std::filesystem::path file = own_file(home, name);
  if (is_profile_name(name) && std::filesystem::exists(file, failed)) {
    auto text = base::read_file(file, kMostFile_bytes);
    if (!text) return text.error();
    return parse_profile(*text, name, file.string());
  }
  const std::string_view shipped = shipped_profile_text(name);
  if (!shipped.empty()) return parse_profile(shipped, name, name + ".toml");
  return Error(ErrorCode::not_found, "profile", fmt::format("there is none called \"{}\"", name),
               fmt::format("There are {}; own ones are files {}/NAME.toml.",
                           fmt::join(list_profiles(home), ", "), (home / "profiles").string()));
}

std::vector<std::string> list_profiles(const std::filesystem::path& home) {
  std::vector<std::string> names;
  std::error_code failed;
  for (const auto& entry : std::filesystem::directory_iterator(home / "profiles", failed)) {
    const std::string name = entry.path().stem().string();
    if (entry.path().extension() == ".toml" && is_profile_name(name)) names.push_back(name);
  }
  std::sort(names.begin(), names.end());
  for (std::string& name : shipped_profiles()) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(std::move(name));
  }
  return names;
}

std::vector<Profile> read_profiles(const std::filesystem::path& home,
                                   const std::function<void(const Error&)>& bad) {
  std::vector<Profile> out;
  for (const std::string& name : home.empty() ? shipped_profiles() : list_profiles(home)) {
    auto profile = find_profile(home, name);
    if (profile) {
      out.push_back(std::move(*profile));
    } else if (bad) {
      bad(profile.error());
    }
  }
  return out;
}

}  // namespace rookery::camera
