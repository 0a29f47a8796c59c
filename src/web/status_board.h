// StatusBoard: every camera's status as JSON, made at most once a moment and shared by all sockets.
#pragma once

#include <chrono>
#include <map>
#include <memory>
#include <mutex>
#include <string>

#include "base/name.h"
#include "station/station.h"

namespace rookery::web {

// One camera's status, as an owner and as a viewer may read it.
struct StatusTexts {
  std::string owner;
  std::string viewer;
};
using StatusSnapshot = std::map<base::CameraName, StatusTexts>;

// any-thread; blocks for a moment, so call it on a worker.
class StatusBoard {
 public:
  explicit StatusBoard(station::Station& station) : station_(station) {}

  // Not older than `age`.
  std::shared_ptr<const StatusSnapshot> snapshot(std::chrono::milliseconds age);

 private:
  station::Station& station_;
  std::mutex mutex_;
  std::shared_ptr<const StatusSnapshot> newest_;
  base::MonoTime made_;
};

}  // namespace rookery::web
