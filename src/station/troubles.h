// Troubles: what is wrong with the station as a whole, in words for a person. The API, the page and the
// command line all say it from here.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "archive/age_clock.h"
#include "archive/disk.h"
#include "archive/recorder.h"
#include "archive/segment_store.h"
#include "notices/pause_receiver.h"

namespace rookery::station {

struct Trouble {
  std::string kind;  // "disk-full", "disk-low", "clock", "pause", "moved"
  std::string detail;
  std::string remedy;

  std::string text() const { return detail + ". " + remedy; }
};

// What troubles are judged by.
struct Facts {
  // A board that was found at another address, and followed.
  struct Move {
    std::string camera, from, to;
    base::WallTime at;
  };
  std::filesystem::path home;
  std::optional<archive::DiskSpace> space;  // none: it could not be asked
  std::uint64_t keep_free_bytes = 0;
  bool may_remove = true;  // there is something that retention may delete
  std::optional<archive::Recorder::Waiting> waiting;
  std::optional<archive::AgeState> age;
  std::vector<notices::PauseFault> pauses;
  std::vector<Move> moves;  // of the last day
};

// How much of a disk of this size stays free for a setting: never more than half of it.
std::uint64_t free_goal(const archive::DiskSpace& space, std::uint64_t keep_free_bytes);

// The worst first; empty when all is well.
std::vector<Trouble> troubles_of(const Facts& facts);

}  // namespace rookery::station
