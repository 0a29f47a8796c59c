// Feed: hands one camera's frames to any number of readers without ever waiting for one of them.
#pragma once

#include <functional>
#include <memory>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>

#include "camera/frame.h"

namespace rookery::camera {

// Two kinds of reader:
//   FeedViewer  wants the newest picture whenever it is ready for one (a browser); it skips, and the feed
//               counts what is skipped;
//   Tap         wants every frame (the recorder); is called in the publisher's thread and must return at
//   once.
// any-thread. Held by shared_ptr: viewers keep it alive.
class Feed : public std::enable_shared_from_this<Feed> {
 public:
  using TapFunction = std::function<void(const FramePtr&)>;

  Feed();
  ~Feed();
  Feed(const Feed&) = delete;
  Feed& operator=(const Feed&) = delete;

  // Makes `frame` (not null) the latest, wakes every waiting viewer, calls every tap. Never blocks on a
  // reader. After close() it does nothing.
  void publish(FramePtr frame);

  // The newest frame; null before the first.
  FramePtr latest() const;

  // Wakes all waiting viewers with null, and lets no one wait again: the camera is gone.
  void close();
  bool closed() const;

  // Calls `function` for every frame from now on, in order and one at a time, until the returned handle dies.
  // When the handle's destructor has returned, no call is running and none will come. `function` must not
  // make or destroy a tap of this feed nor publish to it (it would wait for itself), and what it throws is
  // logged and lost.
  class Tap;
  [[nodiscard]] std::unique_ptr<Tap> tap(TapFunction function);

  // How many viewers exist now.
  std::size_t viewers() const;
  // Frames that a viewer had to leave out because newer ones came before it was ready: of all viewers, ever.
  std::uint64_t skipped() const;

 private:
  friend class FeedViewer;
  struct State;
  std::unique_ptr<State> state_;
};

// The right to be called for every frame. Keeps the feed alive. any-thread.
class Feed::Tap {
 public:
  ~Tap();
  Tap(const Tap&) = delete;
  Tap& operator=(const Tap&) = delete;

 private:
  friend class Feed;
  Tap(std::shared_ptr<Feed> feed, TapFunction function)
      : feed_(std::move(feed)), function_(std::move(function)) {}
  std::shared_ptr<Feed> feed_;
  TapFunction function_;
};

// One viewer's place in a feed. strand-bound to `executor`.
class FeedViewer {
 public:
  FeedViewer(std::shared_ptr<Feed> feed, boost::asio::any_io_executor executor);
  ~FeedViewer();
  FeedViewer(const FeedViewer&) = delete;
  FeedViewer& operator=(const FeedViewer&) = delete;

  // The newest frame that this viewer has not had yet; waits when there is none. The first call returns the
  // latest at once when there is one. Null when the feed was closed. Asio cancellation ends the wait with an
  // exception (operation_aborted), as everywhere. One call at a time; the viewer may die while it waits only
  // together with the coroutine that waits.
  boost::asio::awaitable<FramePtr> next();

  // Frames that were published and never seen here because newer ones came: this viewer's own slowness.
  std::uint64_t skipped() const;

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace rookery::camera
