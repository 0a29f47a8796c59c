// Inner: what a still shows that the work has not shown in the last quarter of an hour: blocks of the picture
// held against those of remembered stills. Why so: docs/job-watch.md.
#pragma once

#include "vision/cell_box.h"
#include "vision/job_cells.h"

namespace rookery::vision {

// Times are counted in looks: a look is a still that is given to look().
class SceneNews {
 public:
  static constexpr std::size_t kLasting = 10;  // looks that are known

  // Of the grid, cells. Some 40 blocks in a row, whatever the size: with fewer than 3 nothing is ever new.
  void begin(int width, int height);

  struct Look {
    const Cells& flat;            // in the usual light
    float light = 1;              // share of that light which the still has, > 0
    bool works = false;           // it may be remembered as work
    bool in_usual_place = false;  // what moves does so where it usually does, and as much
    bool learn = true;            // false: held against what is remembered, not remembered itself
  };
  void look(const Look& look);
  // Another lamp: what is remembered is made brighter by so much, grey levels a cell of the grid.
  void relight(const Cells& by);

  // The work went on and was not remembered: nothing is new for so many looks, at most 100.
  void pause(std::uint32_t looks);

  // Of the picture, 0 to 1, what is new in the last look; 0 where that cannot be told: somebody reaches in or
  // stands at the picture's edge, the light has just changed, or little is remembered yet.
  double share() const { return shares_.empty() ? 0 : static_cast<double>(shares_.back()); }
  // The least of the greatest `count` shares of the last `of` looks; 0 where fewer than `working` of them
  // show the work in its usual place. Each at most kLasting.
  struct Lasting {
    std::size_t of = 0;
    std::size_t count = 0;
    std::size_t working = 0;
  };
  double lasting_share(const Lasting& lasting) const;
  // Something that does not move is new at the picture's edge: what was flung there, or who watches.
  bool lies_at_edge() const { return lies_ > 0; }
  // Where it is, cells of the grid.
  CellBox where() const;

  template <class Archive>
  void visit(Archive& archive) {
    archive(grid_width_, side_, width_, height_, remembered_, next_, waiting_, recent_, usual_, new_, shares_,
            usual_place_, last_, light_, blind_, visited_, lies_);
  }
  // Whether what visit() has read can be of a grid of that size, cells.
  bool fits(int width, int height) const;

 private:
  std::size_t blocks() const { return static_cast<std::size_t>(width_) * static_cast<std::size_t>(height_); }
  std::vector<std::uint8_t> in_blocks(const Cells& flat) const;
  std::size_t known() const { return blocks() == 0 ? 0 : remembered_.size() / blocks(); }
  Cells apart_from_known(const std::vector<std::uint8_t>& still) const;
  float usual_around(int x, int y) const;
  void find_new(const Cells& apart, float light);
  void learn_usual(const Cells& apart);
  void remember(const std::vector<std::uint8_t>& still);
  // New blocks in the outermost row or column of those that can be judged.
  struct AtEdge {
    std::size_t all = 0;
    std::size_t moved = 0;  // … that are not as they were in the last look
    std::size_t low = 0;    // … along the picture's lower edge
  };
  float apart_around(int x, int y, const std::vector<std::uint8_t>& a,
                     const std::vector<std::uint8_t>& b) const;
  AtEdge at_edge(const std::vector<std::uint8_t>& still, float light) const;
  bool is_someone(const AtEdge& edge) const;

  int grid_width_ = 0;  // cells
  int side_ = 0;        // of a block, cells
  int width_ = 0;       // blocks
  int height_ = 0;
  std::vector<std::uint8_t> remembered_;  // stills in a row; once it is full the oldest is at `next_`
  std::uint32_t next_ = 0;
  std::vector<std::uint8_t> waiting_;  // stills that are not remembered yet, the newest last
  std::vector<std::uint8_t> recent_;   // how new each block was, of the last looks, quarters of a grey level
  Cells usual_;                        // … which is usual for it
  CellMask new_;                       // of the last look
  std::vector<float> shares_;          // of the last looks, the newest last
  std::vector<std::uint8_t> usual_place_;
  std::vector<std::uint8_t> last_;  // still
  float light_ = 0;                 // of the last look; 0: there was none
  std::uint32_t blind_ = 0;         // looks, in which nothing is told yet
  std::uint32_t visited_ = 0;       // looks in a row in which somebody moves, at most 1000
  std::uint32_t lies_ = 0;          // … in which what is new at the picture's edge does not, at most 1000
};

}  // namespace rookery::vision
