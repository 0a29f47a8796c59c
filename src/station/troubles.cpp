#include "station/troubles.h"

#include <fmt/format.h>

#include "base/bytes.h"

namespace rookery::station {
namespace {

// Less than this, and SQLite cannot begin (a page and 32 KiB of shared memory), nor can a segment.
constexpr std::uint64_t kNoRoom = 256 << 10;

std::string remedy_of(const Facts& facts) {
  return facts.may_remove
             ? "Retention deletes the oldest recordings that nobody keeps; if it stays so, delete "
               "other files on that disk"
             : "Nothing more may be deleted: let go of kept recordings, delete other files on that "
               "disk, or move the home to a larger one";
}

Trouble disk_full(const Facts& facts) {
  Trouble trouble{"disk-full", {}, remedy_of(facts) + "."};
  trouble.detail = facts.space ? fmt::format("the disk of {} is full: {:.1f} MB of {:.1f} MB are free",
                                             facts.home.string(), base::megabytes(facts.space->free_bytes),
                                             base::megabytes(facts.space->total_bytes))
                               : fmt::format("the disk of {} is full", facts.home.string());
  if (facts.waiting) {
    trouble.detail +=
        fmt::format("; recording waits since {}, {:.1f} MB of pictures are held in memory, {} lost",
                    base::to_rfc3339(facts.waiting->since), base::megabytes(facts.waiting->queued_bytes),
                    facts.waiting->lost_since);
  }
  return trouble;
}

Trouble disk_low(const Facts& facts, std::uint64_t goal) {
  return {"disk-low",
          fmt::format(
              "{:.1f} MB of the disk of {} are free, {:.1f} MB should be; when it is full, recording stops",
              base::megabytes(facts.space->free_bytes), facts.home.string(), base::megabytes(goal)),
          remedy_of(facts) + "."};
}

}  // namespace

std::uint64_t free_goal(const archive::DiskSpace& space, std::uint64_t keep_free_bytes) {
  return std::min(keep_free_bytes, space.total_bytes / 2);
}

std::vector<Trouble> troubles_of(const Facts& facts) {
  std::vector<Trouble> troubles;
  const bool no_room = facts.space && facts.space->free_bytes < kNoRoom;
  if (facts.waiting || no_room) {
    troubles.push_back(disk_full(facts));
  } else if (facts.space && !facts.may_remove) {
    // With something left to delete, a round of retention is all that it takes.
    const std::uint64_t goal = free_goal(*facts.space, facts.keep_free_bytes);
    if (facts.space->free_bytes < goal) troubles.push_back(disk_low(facts, goal));
  }
  if (facts.age && facts.age->worth_saying()) {
    const base::Error said = archive::explain(*facts.age);
    troubles.push_back({"clock", said.detail, said.remedy});
  }
  for (const notices::PauseFault& one : facts.pauses) {
    troubles.push_back(
        {"pause",
         fmt::format("a pause that a job of {} asks for reaches nobody: {}", one.camera.text(), one.fault),
         "Name a receiver that is there in the camera's job settings, or ask nobody."});
  }
  for (const Facts::Move& one : facts.moves) {
    troubles.push_back(
        {"moved",
         fmt::format("{} moved from {} to {} at {}; the station followed it", one.camera, one.from, one.to,
                     base::to_rfc3339(one.at)),
         "Nothing has to be done. If it happens often, reserve an address for the board in the "
         "router, or use its name in the camera's address."});
  }
  return troubles;
}

}  // namespace rookery::station
