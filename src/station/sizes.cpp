#include "station/sizes.h"

#include <chrono>
#include <deque>
#include <mutex>
#include <utility>

#include <boost/asio/post.hpp>
#include <boost/asio/this_coro.hpp>

#include "camera/feed.h"
#include "jpeg/scale.h"
#include "jpeg/walk.h"

namespace rookery::station {
namespace {

// Enough for every camera of a large page at once; a slot older than this is not asked for again by viewers
// who keep up.
constexpr std::size_t kMostSlots = 128;
constexpr std::chrono::milliseconds kSlotLife{1000};
// Small pictures are looked at closely but briefly: 75 halves the bytes of 90 and shows no blocks at these
// sizes.
constexpr int kQuality = 75;

// One frame at one step: made by the first who asks, waited for by the others.
struct Slot {
  camera::FramePtr source;  // keeps the address from being used again
  int step_px;
  base::MonoTime made;
  // A feed of exactly one picture: it wakes whoever waits, in whatever thread they live.
  std::shared_ptr<camera::Feed> result = std::make_shared<camera::Feed>();

  Slot(camera::FramePtr source_, int step_px_, base::MonoTime made_)
      : source(std::move(source_)), step_px(step_px_), made(made_) {}
};

void scale_into(const Slot& slot) {
  const auto scaled = jpeg::compute_scaled(slot.source->view(), slot.step_px, kQuality);
  // Nothing to gain, or an unusual picture that cannot be made smaller here (its colours are not laid out as
  // usual): a browser shows the original all the same.
  if (!scaled || !scaled->has_value()) {
    slot.result->publish(slot.source);
    return;
  }
  const jpeg::WalkResult walked = jpeg::walk(**scaled);
  const auto* info = std::get_if<jpeg::PictureInfo>(&walked);
  const camera::PixelSize size =
      info ? camera::PixelSize{info->width_px, info->height_px} : slot.source->size;
  slot.result->publish(std::make_shared<const camera::Frame>(
      **scaled, slot.source->arrived, slot.source->arrived_mono, slot.source->number, size));
}

}  // namespace

struct Sizes::Impl {
  boost::asio::thread_pool& workers;
  std::mutex mutex;
  std::deque<std::shared_ptr<Slot>> slots;  // oldest first

  explicit Impl(boost::asio::thread_pool& workers_) : workers(workers_) {}

  // The slot for this frame and step, and whether the caller has to start its scaling.
  std::pair<std::shared_ptr<Slot>, bool> find_or_make(const camera::FramePtr& frame, int step_px) {
    const auto now = std::chrono::steady_clock::now();
    const std::lock_guard lock(mutex);
    while (!slots.empty() && (slots.size() >= kMostSlots || now - slots.front()->made > kSlotLife))
      slots.pop_front();
    for (auto it = slots.rbegin(); it != slots.rend(); ++it) {
      if ((*it)->source == frame && (*it)->step_px == step_px) return {*it, false};
    }
    slots.push_back(std::make_shared<Slot>(frame, step_px, now));
    return {slots.back(), true};
  }
};

Sizes::Sizes(boost::asio::thread_pool& workers) : impl_(std::make_shared<Impl>(workers)) {}
Sizes::~Sizes() = default;

boost::asio::awaitable<camera::FramePtr> Sizes::at_width(camera::FramePtr frame, int want_width_px) {
  const std::optional<int> step = jpeg::size_step_for(want_width_px);
  if (!frame || !step || frame->size.width_px <= *step) co_return frame;
  auto [slot, is_new] = impl_->find_or_make(frame, *step);
  if (is_new) {
    boost::asio::post(impl_->workers, [slot = slot] {
      try {
        scale_into(*slot);
      } catch (const std::exception&) {  // no memory: whoever waits shows nothing
        slot->result->close();
      }
    });
  }
  const boost::asio::any_io_executor executor = co_await boost::asio::this_coro::executor;
  camera::FeedViewer viewer(slot->result, executor);
  auto waiting = viewer.next();
  camera::FramePtr scaled = co_await std::move(waiting);
  co_return scaled;
}

}  // namespace rookery::station
