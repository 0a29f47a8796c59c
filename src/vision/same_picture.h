// SamePicture: notices that a board sends one picture again and again: its sensor has stopped, its radio not.
#pragma once

#include <cstdint>
#include <optional>

#include "base/time.h"

namespace rookery::vision {

// strand-bound. Noise alone makes two pictures of one scene differ; bytes that are the same to the last are
// the same picture. Frozen: the same for at least 3 pictures and 2 s.
class SamePicture {
 public:
  static constexpr int kFewestPictures = 3;
  static constexpr std::chrono::seconds kShortest{2};

  // A picture by the hash of its bytes, in order of time.
  void add(std::uint64_t hash, base::MonoTime at);

  // Spans in which it was frozen, the one under way included, and the longest of them.
  int times() const { return times_; }
  std::chrono::duration<double> longest() const { return longest_; }

 private:
  std::optional<std::uint64_t> hash_;
  base::MonoTime since_{};
  int pictures_ = 0;
  bool counted_ = false;
  int times_ = 0;
  std::chrono::duration<double> longest_{};
};

}  // namespace rookery::vision
