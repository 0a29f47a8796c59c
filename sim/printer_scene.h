// A filament printer at work: the head lays the current layer, the body grows, the print ends, the next
// begins; and what may go wrong. scene_printer.cpp draws it, printer_course.cpp works out what is so.
#pragma once

#include <memory>

#include "sim/printer_mishaps.h"
#include "sim/printer_worlds.h"

namespace rookery::sim {

// Real layers are thinner and slower, but a minute of watching has to show growth: PrintJob.
inline constexpr float kLayerHeight = 0.14F;
inline constexpr float kParkSeconds = 2.5F;   // at the beginning of the rest, on the way to its corner
inline constexpr float kReturnSeconds = 3;    // at its end, on the way back
inline constexpr double kTakenBefore = 15;    // the end of the rest a hand comes for the print,
inline constexpr float kGripSeconds = 1.6F;   // reaches it,
inline constexpr float kTakenSeconds = 3.4F;  // and is gone with it after so long in all

struct Progress {
  std::int64_t print = 0;  // which print; -1: before the first
  int layer = 0;           // whole layers done
  float into = 0;          // seconds into the next
  bool resting = false;
  float rest = 0;  // seconds of rest so far
};

class PrinterScene final : public Scene {
 public:
  PrinterScene(PrinterWorld made, std::uint64_t seed, Size size, const PrintJob& job);

  void prepare(SceneTime t) override;
  void paint(Canvas& canvas, SceneTime t) const override;
  std::vector<Motion> happenings(SceneTime until) const override;
  std::optional<JobTruth> job_at(SceneTime t) const override;
  float noise(SceneTime t) const override;

 private:
  // All that a moment of the job is drawn from and its truth is told from.
  struct Now {
    double s = 0;
    Progress head;       // what the machine does
    Progress part;       // what it has come to
    bool still = false;  // nothing of the machine moves
    bool ours = true;    // the mishaps are of this print
    Vec3 nozzle{};
    Vec3 bed{};         // how far the bed is from its middle
    PartPlace place{};  // of the part, as the bed sees it
    float mess = 0;     // amount
  };
  Now now_at(SceneTime t) const;
  Vec3 aside(const Now& now) const;
  PartPlace part_place(const Now& now) const;
  bool is_seen(const Now& now) const {
    return now.part.print >= 0 && now.part.layer >= 1 && taken(now) < kTakenSeconds;
  }
  // Seconds since a hand came for the part; negative: not yet.
  float taken(const Now& now) const {
    return now.head.resting && now.head.print >= 0 ? now.head.rest - static_cast<float>(rest_ - kTakenBefore)
                                                   : -1;
  }
  void prepare_mishaps(const PrintJob& job);
  float hand_at(double s) const;
  Vec3 hand_place(double s) const;
  void draw_people(Canvas& canvas, double s) const;
  void add_people(std::vector<Motion>& all) const;
  Progress progress_at(double worked) const;
  Vec3 nozzle_at(const Progress& progress) const;
  void draw_arms(Canvas& canvas, Vec3 nozzle, bool behind) const;
  void draw_filament(Canvas& canvas, Vec3 nozzle, float t) const;
  void draw_object(Canvas& canvas, const Now& now) const;
  void draw_mess(Canvas& canvas, const Now& now, bool below) const;
  // Where a hand takes hold of the finished print.
  Vec3 grip() const {
    return p_.home + Vec3{0, -object_.outline(object_.height() * 0.7F, 0), object_.height() * 0.7F};
  }
  static float printed_height(const Progress& now) {
    return std::max(0.3F, static_cast<float>(now.layer) * kLayerHeight);
  }
  double print_seconds() const { return static_cast<double>(layers_) * static_cast<double>(layer_seconds_); }

  PrinterWorld p_;
  std::uint64_t seed_;
  float layer_seconds_;
  double rest_;
  JobCourse course_;
  Projection view_;
  PrintedObject object_;
  float ratio_;
  Picture still_;
  Mover head_;
  Mover beam_;
  Mover bed_;
  Mover hand_;
  int layers_ = 1;
  float begun_ = 0;
  int cut_layers_ = -1;
  PartPose cut_pose_;
  Mover cut_;
  Mover arm_;
  Mover passer_;
  Mess mess_;
  PartPose step_;  // of the layers that stand aside
  double knocked_from_ = 0;
  std::unique_ptr<PrinterScene> elsewhere_;  // as the camera sees it from then on
};

}  // namespace rookery::sim
