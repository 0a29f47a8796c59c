#include "camera/fingerprint.h"

#include <algorithm>
#include <cstdint>
#include <map>

#include <fmt/format.h>

namespace rookery::camera {
namespace {

// FNV-1a, 64 bit (its authors' page; offset and prime from memory, checked by a test).
struct Hash {
  std::uint64_t value = 0xcbf29ce484222325u;
  void add(std::string_view text) {
    for (const char c : text) value = (value ^ static_cast<unsigned char>(c)) * 0x100000001b3u;
    value = (value ^ 0xffu) * 0x100000001b3u;  // what ends one piece
  }
};

std::string_view name_of(Answered what) {
  switch (what) {
    case Answered::still:
      return "still";
    case Answered::stream:
      return "stream";
    case Answered::page:
      return "page";
  }
  return "page";
}

// By kind. What has no kind (an older station's) is left out.
std::map<std::string, std::string, std::less<>> parts(std::string_view text) {
  std::map<std::string, std::string, std::less<>> out;
  while (!text.empty()) {
    const std::string_view one = text.substr(0, text.find(' '));
    text.remove_prefix(std::min(text.size(), one.size() + 1));
    if (const auto colon = one.find(':'); colon != std::string_view::npos)
      out.insert_or_assign(std::string(one.substr(0, colon)), std::string(one.substr(colon + 1)));
  }
  return out;
}

}  // namespace

std::string fingerprint_of(Answered what, const net::HttpHead& head) {
  Hash hash;
  hash.add(std::to_string(head.status));
  for (const auto& field : head.fields) hash.add(field.name);
  return fmt::format("{}:{:016x}", name_of(what), hash.value);
}

std::string with_fingerprint(std::string_view all, std::string_view one) {
  const auto added = parts(one);
  auto merged = parts(all);
  const bool other_program = std::ranges::any_of(added, [&merged](const auto& part) {
    const auto before = merged.find(part.first);
    return before != merged.end() && before->second != part.second;
  });
  if (other_program) merged.clear();
  merged.insert(added.begin(), added.end());
  std::string out;
  for (const auto& [kind, value] : merged) out += fmt::format("{}{}:{}", out.empty() ? "" : " ", kind, value);
  return out;
}

bool is_alike(std::string_view a, std::string_view b) {
  const auto one = parts(a), other = parts(b);
  bool any = false;
  for (const auto& [kind, value] : one) {
    const auto found = other.find(kind);
    if (found == other.end()) continue;
    if (found->second != value) return false;
    any = true;
  }
  return any;
}

}  // namespace rookery::camera
