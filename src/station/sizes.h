// Sizes: a frame at one of a few widths, each scaled once and shared by all who want it.
#pragma once

#include <memory>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/thread_pool.hpp>

#include "camera/frame.h"

namespace rookery::station {

// any-thread. Keeps the scaled frames and their originals for others who want the same, 128 at most. What is
// older than a second goes when the next is to be scaled, not by itself.
class Sizes {
 public:
  // Scaling runs on `workers`, which outlives this.
  explicit Sizes(boost::asio::thread_pool& workers);
  ~Sizes();

  // `frame` made smaller for the smallest size step that is at least `want_width_px` (jpeg::kSizeSteps_px):
  // at the smallest eighth of its size that is at least as wide as that step. The frame itself when
  // want_width_px is 0 or wider than the last step, when no eighth would be smaller, or when it is one that
  // cannot be made smaller. The same number and times, other bytes and size. Null when there was no memory
  // for it (then show nothing). Several who ask for the same frame and step share one scaling.
  boost::asio::awaitable<camera::FramePtr> at_width(camera::FramePtr frame, int want_width_px);

 private:
  struct Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace rookery::station
