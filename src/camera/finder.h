// Finder: looks for boards on the own network for as long as it runs: hears announcements, reads the
// neighbour table, asks what is new whether it answers with pictures, and sweeps when told to.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <boost/asio/any_io_executor.hpp>

#include "base/result.h"
#include "camera/board_list.h"
#include "net/sweep.h"

namespace rookery::camera {

// What boards announce (docs/find.md). A board that does not speak HTTP is none of ours.
inline const std::vector<std::string> kAnnouncedTypes{"_http._tcp", "_https._tcp"};

struct FinderOptions {
  std::vector<std::string> types = kAnnouncedTypes;
  bool ask = true;                // those that are not known
  std::size_t asks_at_once = 24;  // boards; each has one connection. Common practice, no source
  bool sweep = false;
  // By which what is new is asked and the sweep knocks.
  std::vector<Profile> profiles = read_profiles({}, {});
  // Asked now and then, on the strand: must not block.
  std::function<std::vector<KnownBoard>()> known = [] { return std::vector<KnownBoard>(); };
  // As AskPlan::boards.
  std::shared_ptr<BoardRegister> boards;
  // On the strand, when something may have changed. May be empty.
  std::function<void()> on_change;
};

// any-thread handle; the work runs on a strand of `executor`, which must run until the destructor returned or
// never again.
class Finder {
 public:
  Finder(boost::asio::any_io_executor executor, FinderOptions options);
  ~Finder();  // stop(), without waiting
  Finder(const Finder&) = delete;
  Finder& operator=(const Finder&) = delete;

  // Errors come later, by error().
  void start();
  // Ends it all; waits until it has ended, at most `limit`. Not from a thread that the executor needs.
  bool stop(std::chrono::milliseconds limit);
  // Sweeps the own networks, unless that is under way.
  void sweep();
  bool sweeping() const;

  // What is there now. Updated every 100 ms.
  std::vector<FoundBoard> boards() const;
  // Nothing is being asked or swept, and nothing waits to be.
  bool settled() const;
  // Why it does not work; none while it does.
  std::optional<base::Error> error() const;

 private:
  struct Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace rookery::camera
