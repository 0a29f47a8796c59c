// Inner: what a JobWatch knows of its job.
#pragma once

#include <array>

#include "vision/cell_light.h"
#include "vision/job_cells.h"
#include "vision/job_watch.h"
#include "vision/scene_news.h"
#include "vision/seen_values.h"

namespace rookery::vision {

class JobWatch::Body {
 public:
  explicit Body(const JobWatchOptions& options) : options_(options) {}

  std::vector<JobReport> add(const jpeg::LumaGrid& grid, double at_s);
  bool looks_so(JobSign which) const;
  bool stands(JobSign which) const { return sign(which).stands; }
  JobNow now() const;
  JobFacts facts() const;
  const std::vector<std::uint8_t>& growth() const& { return growth_; }
  int width() const { return width_; }
  int height() const { return height_; }
  std::vector<std::byte> save() const;
  base::Result<void> restore(std::span<const std::byte> saved);

 private:
  static constexpr float kNews = 7;            // grey levels: less is no change of a cell
  static constexpr double kLearn_s = 60;       // of movement, before anything is said
  static constexpr double kLookAt_s = 12;      // of rest: it has come to where it goes
  static constexpr double kResting_s = 45;     // without movement
  static constexpr double kLookEvery_s = 4.5;  // for what is new, at the most often
  static constexpr std::size_t kActive = 12;

  // What stands of one sign.
  struct Sign {
    bool stands = false;
    double since_s = -1;   // that it looks so without a break; below 0: it does not
    double gone_s = -1;    // that it stands and no longer looks so
    double judged_s = -1;  // … when it was asked last
    bool sure = false;     // … it was reported so
  };
  static constexpr std::size_t kSigns = 6;  // of JobSign
  static std::size_t index_of(JobSign sign) { return static_cast<std::size_t>(sign); }

  template <class Archive>
  void visit(Archive& archive);

  void begin(const jpeg::LumaGrid& grid);
  void pass_gap(double gap_s);
  void put_off(double gap_s);
  bool is_soft() const;
  bool follow_light(const Levelled& light);
  bool judge_view(const jpeg::LumaGrid& grid, const Levelled& light, std::vector<JobReport>& reports);
  void judge_motion(const Levelled& light, std::vector<JobReport>& reports);
  void note_place(double weight);
  void judge_news(const Levelled& light, std::vector<JobReport>& reports);
  void note_movement(bool active, double cells, double dt_s);
  void begin_rest(const Cells& flat);
  void end_rest();
  double rested_s() const;
  void judge_rest(const Cells& flat, std::vector<JobReport>& reports);
  bool is_parked(const Cells& flat) const;
  void learn_work(const Cells& flat);
  void learn_slot(const Cells& flat);
  void close_slot();
  void learn_first(const Cells& flat);
  bool works() const;
  CellMask machine() const;
  CellMask grown() const;
  double still_after() const;

  // Says that `sign` looks so, or not, at this still: reported once it does for `hold_s`, and again when it
  // is sure; over once it has not for `free_s`.
  struct Look {
    bool looks = false;
    double hold_s = 0;
    double free_s = 0;
    double strength = 0;
    bool sure = false;
    PictureShare where{};
    double before_s = -1;  // below 0: from before it began to look so
  };
  void tell(JobSign sign, const Look& look, std::vector<JobReport>& reports);
  Sign& sign(JobSign which) { return signs_[index_of(which)]; }
  const Sign& sign(JobSign which) const { return signs_[index_of(which)]; }

  JobWatchOptions options_;

  int width_ = 0;
  int height_ = 0;
  double at_s_ = -1;    // of the last still
  double last_s_ = -1;  // of the one before
  std::array<Sign, kSigns> signs_{};

  // Motion.
  Cells before_;                      // the last still, in the light of `typical_`
  std::vector<float> busy_;           // share of the last minutes' stills in which a cell changed
  std::vector<std::uint8_t> active_;  // of the last stills, 1: the machine moved; the newest last
  double usual_cells_ = 0;            // that move in a still while it works
  double stirs_ = 0;                  // share of the last stills in which something moves, however little
  double active_s_ = 0;               // that it moved, in all, less what it has rested since
  double spacing_s_ = 0;              // of stills, as they come
  double quiet_from_s_ = 0;           // nothing moved since
  double longest_quiet_s_ = 0;        // after which it went on
  double pause_s_ = 0;                // that has just ended, if it goes on
  double darkness_ = 0;               // mean of the last still, grey levels
  bool dim_ = false;                  // it has much less light than usual
  // Who reaches in, and leaves all as it was, has not ended a rest.
  struct Rest {
    Cells flat;  // as it stood; empty: there was none
    double from_s = 0;
    double broken_s = -1;  // since something moves again; below 0: nothing does
  };
  Rest rest_;
  // A machine that stops in its work stands as it often stood; one that has finished does not.
  SeenValues seen_;
  std::vector<std::vector<std::uint8_t>> lately_;  // stills of work that are not learned yet
  double aged_s_ = -1;                             // when `seen_` became older last
  std::uint32_t parked_ = 0;                       // stills of this rest that look so
  std::uint32_t unparked_ = 0;                     // … and that do not
  double relit_s_ = -1;                            // when a lamp was switched last

  // Slots: medians, in which a head that moves is not to be seen.
  std::vector<Cells> slot_;  // stills of the slot at hand
  double slot_from_s_ = 0;
  Cells typical_;  // median of the last slot; of the first still before there is one
  Cells lowest_;   // what each cell showed in the first stills of work
  Cells highest_;
  std::uint32_t first_stills_ = 0;
  std::uint32_t slot_stills_ = 0;
  std::vector<std::uint8_t> outside_;  // stills of the slot in which a cell showed something else
  std::uint32_t slots_ = 0;

  // What is new in the picture while it works.
  SceneNews news_;
  double looked_s_ = -1;         // when `news_` was asked last
  double loose_s_ = -1;          // when a part was told as loose; below 0: not yet
  bool loose_kept_ = false;      // … lately: the picture of before is still held against it
  double loose_share_ = 0;       // … and how much of the picture was new then
  double usual_weight_ = 0;      // of what moves in a still, by how often it moves where that is
  bool in_usual_place_ = false;  // … of the last still, enough of it

  // Growth.
  std::vector<std::uint8_t> growth_;  // 0 to 255, how surely something grew in a cell
  std::vector<std::uint32_t> grown_;  // cells, slot by slot, the newest last; at most kHistory
};

}  // namespace rookery::vision
