// Inner: what each cell has shown in the last minutes of work.
#pragma once

#include "vision/job_cells.h"

namespace rookery::vision {

// Grey levels of each cell in steps of four, and in how many ages each was last seen.
class SeenValues {
 public:
  static constexpr std::uint8_t kAges = 40;

  void begin(std::size_t cells);
  // Values are clamped to 0 to 255. Of begin()'s size.
  void see(std::span<const std::uint8_t> flat);
  // What was not seen for kAges of these is forgotten.
  void grow_older();
  // Stills seen since begin(), at most 65 535.
  std::uint32_t stills() const { return stills_; }
  // Cells that show what they did not, within 8 to 11 grey levels.
  CellMask novel(const Cells& flat) const;

  template <class Archive>
  void visit(Archive& archive) {
    archive(left_, stills_);
  }
  bool fits(std::size_t cells) const { return left_.size() == cells * kSteps && stills_ <= 0xFFFF; }

 private:
  static constexpr std::size_t kSteps = 64;
  std::vector<std::uint8_t> left_;  // ages until it is forgotten, cell by cell and step by step
  std::uint32_t stills_ = 0;
};

// Cells of the mask in whose 3×3 there are at least five: no single ones, no thin lines.
CellMask solid_part(const CellMask& mask, int width, int height);

}  // namespace rookery::vision
