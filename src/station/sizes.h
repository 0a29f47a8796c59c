// Sizes: a frame at one of a few widths, each scaled once and shared by all who want it.
#pragma once

#include <memory>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/thread_pool.hpp>

#include "camera/frame.h"

namespace rookery::station {

// any-thread. Keeps only the newest few scaled frames of each feed (weakly: a scaled frame lives while
// someone uses it or until the next one of the same camera and step).
class Sizes {
 public:
  // Scaling runs on `workers`, which outlives this.
  explicit Sizes(boost::asio::thread_pool& workers);
  ~Sizes();

  // `frame` at the smallest size step that is at least `want_width_px` wide (jpeg::kSizeSteps_px); the frame
  // itself when want_width_px is 0 or it is not wider than that step. The same number and times, other bytes
  // and size. Null when the picture cannot be decoded (then show nothing). Several who ask for the same frame
  // and step share one scaling.
  boost::asio::awaitable<camera::FramePtr> at_width(camera::FramePtr frame, int want_width_px);

 private:
  struct Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace rookery::station
