// The Saltmarsh Repair Hall: eight make-believe boards, each with its scene and its troubles.
#pragma once

#include <chrono>
#include <iosfwd>
#include <memory>
#include <string>
#include <vector>

#include "base/result.h"
#include "sim/board.h"

namespace rookery::sim {

struct WorkshopOptions {
  std::uint64_t seed = 1;
  Size size{640, 480};
  double frames_per_second = 10;
  int quality = 50;
  bool troubles = true;  // false: no faults of their own; each board can still be given some
  int threads = 1;       // that serve the boards, 1 to 8
};

struct WorkshopCamera {
  std::string name;         // "anvil"
  std::string description;  // "Printer with a sliding bed"
  std::string stream_address;
  std::string still_address;
};

// any-thread.
class Workshop {
 public:
  explicit Workshop(WorkshopOptions options = {});
  // Stops everything and joins its threads.
  ~Workshop();
  Workshop(const Workshop&) = delete;
  Workshop& operator=(const Workshop&) = delete;

  // Opens the ports and starts the threads; returns at once. Boards whose scene is not rendered yet keep
  // their viewers waiting for it (a second or two). Call once. Errors: io, when no port can be had.
  base::Result<void> start();
  void stop();
  // Waits until every scene can be shown, if only roughly: some tenths of a second. They become sharp one by
  // one in the seconds after that. False when `limit` passed first.
  bool wait_until_painted(std::chrono::milliseconds limit) const;

  // How many of the eight are drawn at full sharpness.
  int sharp() const;

  // In the order of scene_names(); addresses are known after start().
  std::vector<WorkshopCamera> cameras() const;
  // What happened until now at all eight, as docs/formats/truth.md says. any time after start().
  void write_truth(std::ostream& out) const;
  // The board of that name; null when there is none.
  Board* board(std::string_view name);

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

}  // namespace rookery::sim
