// Where a make-believe board gets its pictures: a scene, a list of JPEGs in a loop, or any function.
#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "sim/faults.h"
#include "sim/types.h"

namespace rookery::sim {

// What a board tells its source for one picture.
struct FrameRequest {
  base::WallTime wall;            // now; drawn into scenes
  base::Microseconds since_boot;  // the exposure settles in the first seconds
  std::uint64_t boot = 1;         // which boot of the board this is
  ActiveFaults faults;            // those that change the picture are the source's to apply
};

// Called by one board at a time, on its strand. strand-bound.
class FrameSource {
 public:
  virtual ~FrameSource() = default;
  // The next picture. An empty picture (no bytes) means that none could be taken.
  virtual Bytes next(const FrameRequest& request) = 0;
  // False while pictures cannot be taken yet; the board then keeps its viewer waiting. any-thread.
  virtual bool ready() const { return true; }
  // What moved until now, for scoring detectors. any-thread.
  virtual std::vector<TruthEvent> truth() const { return {}; }
};

// Given pictures, over and over, byte for byte (faults that change the picture do not apply).
class ListSource final : public FrameSource {
 public:
  // `pictures` is not empty.
  explicit ListSource(std::vector<Bytes> pictures);
  Bytes next(const FrameRequest& request) override;

 private:
  std::vector<Bytes> pictures_;
  std::size_t next_ = 0;
};

// Whatever the function returns.
class FunctionSource final : public FrameSource {
 public:
  explicit FunctionSource(std::function<Bytes(const FrameRequest&)> make) : make_(std::move(make)) {}
  Bytes next(const FrameRequest& request) override { return make_(request); }

 private:
  std::function<Bytes(const FrameRequest&)> make_;
};

}  // namespace rookery::sim
