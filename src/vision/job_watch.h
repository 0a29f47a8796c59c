// JobWatch: how a machine's work goes, told from stills of a fixed camera: it moves, it rests, it stands
// still though it should not, something grows. Pure: times come with the stills. How and why:
// docs/job-watch.md.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "jpeg/luma_grid.h"
#include "vision/picture_share.h"

namespace rookery::vision {

enum class JobPhase : std::uint8_t {
  learning,  // too little was seen yet to say anything
  working,   // the machine moves
  resting,   // nothing has moved for a while; a pause, or the end
  finished,  // it rests as a machine does that has done its work
};
// "learning", "working", "resting", "finished".
std::string_view name_of(JobPhase phase);

// What may be told of a job. The names are those of the API.
enum class JobSign : std::uint8_t {
  finished,  // "finished": it moved, and has gone to rest where it did not stand while it worked
  still,     // "still": nothing has moved for the time that was set, though it should
  knocked,   // "knocked": the camera shows another view, or the same one moved
  covered,   // "covered": the camera sees nothing
  unsharp,   // "unsharp": the camera is out of focus
  loose,     // "loose": it goes on with its work beside something that has not been there before: a part that
             // came off or moved, a mess
};
std::string_view name_of(JobSign sign);
std::optional<JobSign> job_sign_named(std::string_view name);

struct JobReport {
  JobSign sign = JobSign::finished;
  bool over = false;    // what was reported is no longer so: it goes on, it is seen again
  double at_s = 0;      // of the still that decided it
  double before_s = 0;  // of a still from before it was so, for showing both
  double strength = 0;  // 0 to 1
  bool sure = false;    // false: have a look
  PictureShare where;   // all 0: the whole picture
};

// What may be said at any moment.
struct JobNow {
  JobPhase phase = JobPhase::learning;
  double moving_share = 0;    // of the picture, usual while it works, 0 to 1
  double quiet_s = 0;         // since something last moved
  double grown_share = 0;     // of the picture: what changed and stayed, 0 to 1
  double grown_per_hour = 0;  // of the picture an hour, over the last 20 minutes
  PictureShare bed;           // where it works: as drawn, else as found; all 0: not known yet
};

// What a job was like as a whole: kept with a job; those that a person said were good are compared with.
struct JobFacts {
  double lasted_s = 0;
  double longest_quiet_s = 0;
  double moving_share = 0;
  double grown_share = 0;
  bool operator==(const JobFacts&) const = default;
};

struct JobWatchOptions {
  double still_every_s = 5;           // about; 0.5 to 600
  double still_after_s = 600;         // nothing moves for so long: JobSign::still; 60 to 86 400
  double expected_s = 0;              // how long the job takes; 0: not known
  std::optional<PictureShare> bed{};  // drawn by a person
  std::vector<JobFacts> good{};       // of earlier jobs here that a person said were good
};

// strand-bound. One job of one camera.
class JobWatch {
 public:
  // Errors: invalid_value, with the option that is outside its range.
  static base::Result<JobWatch> make(const JobWatchOptions& options);
  JobWatch(JobWatch&&) noexcept;
  JobWatch& operator=(JobWatch&&) noexcept;
  ~JobWatch();

  // A still that is damaged, or not younger than the one before, is passed over. at_s: since the job began.
  std::vector<JobReport> add(const jpeg::LumaGrid& grid, double at_s);
  // Whether the sign stands and the last still that could be judged by it still looked so: what stands is
  // over only after it has looked otherwise for a while. `loose` does for five minutes at most: then the picture
  // is learned as it is now.
  bool looks_so(JobSign sign) const;
  bool stands(JobSign sign) const;  // it was reported, and is not over
  // Time passes without a still (the camera is away, or sees nothing): nothing is concluded from what was not
  // seen.
  JobNow now() const;
  JobFacts facts() const;
  // Of each cell of the grid: 0 nothing grew here, to 255 surely grew. Empty before the first still.
  std::vector<std::uint8_t> growth() const;
  int width() const;  // of the grid, cells; 0 before the first still
  int height() const;

  // All of it, to be kept over a restart. Format: docs/job-watch.md.
  std::vector<std::byte> save() const;
  // Errors: malformed, newer_version; nothing has changed then. The options stay as they are.
  base::Result<void> restore(std::span<const std::byte> saved);

 private:
  class Body;
  explicit JobWatch(std::unique_ptr<Body> body);
  std::unique_ptr<Body> body_;
};

// Whether a machine has begun to work, where no job is under way: its movement goes on and on, where a
// person's comes and goes. Give it a grid every few seconds.
class WorkSense {
 public:
  WorkSense();
  WorkSense(WorkSense&&) noexcept;
  WorkSense& operator=(WorkSense&&) noexcept;
  ~WorkSense();
  // The moment at which work began that is now known to be work, once for each; at most 3 minutes ago.
  std::optional<double> add(const jpeg::LumaGrid& grid, double at_s);

 private:
  class Body;
  std::unique_ptr<Body> body_;
};

}  // namespace rookery::vision
